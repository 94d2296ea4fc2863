"""``loopsolver schema``: JSON Schema of scene and plan, for editors and programs."""

from __future__ import annotations

import argparse
import importlib
from typing import Any, Final

from loopsolver.cli.output import say_json

_DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"

_MODELS: Final = {
    "scene": ("loopsolver.scene.schema", "SceneFile"),
    "plan": ("loopsolver.plan.document", "PlanDocument"),
}
"""Where the model of each file stands; heavy, so it is imported when it is asked for."""


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument(
        "of", nargs="?", choices=tuple(_MODELS), help="only the schema of this file"
    )


def command(args: argparse.Namespace) -> int:
    """Print the schema and return the exit status."""
    schemas = {name: _schema(name) for name in ([args.of] if args.of else _MODELS)}
    say_json(schemas[args.of] if args.of else schemas)
    return 0


def _schema(name: str) -> dict[str, Any]:
    module, model = _MODELS[name]
    schema = getattr(importlib.import_module(module), model).model_json_schema()
    return {"$schema": _DIALECT, **schema}
