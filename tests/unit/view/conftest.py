"""The hand-made build for the tests of the view."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest


@pytest.fixture(scope="session")
def build() -> ModuleType:
    """Return the module that makes the build and its plan."""
    path = Path(__file__).with_name("demo_build.py")
    spec = importlib.util.spec_from_file_location("loopsolver_view_demo_build", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
