"""``loopsolver schema``: JSON Schema of scene and plan, for editors and programs."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import Any, Final

from loopsolver.cli.output import say_json

_DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument(
        "of", nargs="?", choices=tuple(_SCHEMAS), help="only the schema of this file"
    )


def command(args: argparse.Namespace) -> int:
    """Print the schema and return the exit status."""
    if args.of is not None:
        say_json(_SCHEMAS[args.of]())
    else:
        say_json({name: schema() for name, schema in _SCHEMAS.items()})
    return 0


def _scene_schema() -> dict[str, Any]:
    from loopsolver.scene.schema import SceneFile

    return {"$schema": _DIALECT, **SceneFile.model_json_schema(by_alias=True)}


def _plan_schema() -> dict[str, Any]:
    from loopsolver.plan.document import PlanDocument

    return {"$schema": _DIALECT, **PlanDocument.model_json_schema(by_alias=True)}


_SCHEMAS: Final[dict[str, Callable[[], dict[str, Any]]]] = {
    "scene": _scene_schema,
    "plan": _plan_schema,
}
