"""``loopsolver schema``: JSON Schema of scene and plan, for editors and programs."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Final

from loopsolver.cli.options import new_parser
from loopsolver.cli.output import say_json

if TYPE_CHECKING:
    from loopsolver.cli.options import Subparsers

_DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"


def add_parser(subparsers: Subparsers) -> None:
    """Add the command to the command line."""
    parser = new_parser(
        subparsers,
        "schema",
        summary="print the JSON Schema of scene and plan files",
        more="Without a name: one object that holds both.",
    )
    parser.add_argument(
        "of", nargs="?", choices=tuple(_SCHEMAS), help="only the schema of this file"
    )
    parser.set_defaults(command=command)


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
