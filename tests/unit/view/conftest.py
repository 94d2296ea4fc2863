"""The hand-made build for the tests of the view."""

from __future__ import annotations

from types import ModuleType

import pytest

from tests.builders import demo_build


@pytest.fixture(scope="session")
def build() -> ModuleType:
    """Return the module that makes the build and its plan."""
    return demo_build
