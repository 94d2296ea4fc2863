"""What every table of a scene file has in common: all its faults are told at once."""

from __future__ import annotations

import ast
import inspect
import textwrap
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from itertools import pairwise
from typing import Any, ClassVar

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    ModelWrapValidatorHandler,
    ValidationError,
    ValidationInfo,
    model_validator,
)
from pydantic.fields import FieldInfo

from loopsolver.lengths import MILLIMETRES
from loopsolver.scene.findings import Finding, nearest_name, shown
from loopsolver.scene.quantities import FINDINGS, Reading, found, reading_of, refuse
from loopsolver.words import in_commas


@cache
def wanted_in(model: type[BaseModel]) -> Mapping[str, str]:
    """Return what is wanted of each key: the text below its field, on one line.

    Read from the source when it is asked for: only faults and the JSON Schema need it,
    and pydantic, which reads it for every table at once, takes longer than for the rest.
    """
    fields = model.model_fields.items()
    told = {name: field.description or "" for name, field in fields}
    own = model.__mro__[: model.__mro__.index(BaseModel)]
    for base in reversed(own):
        if base.__name__.isidentifier():  # those of the shelf are made from its data
            told |= _texts_below(base)
    return {field.alias or name: told[name] for name, field in fields}


def _texts_below(table: type) -> Iterator[tuple[str, str]]:
    """Yield the fields that a class writes out, each with the text below it."""
    (tree,) = ast.parse(textwrap.dedent(inspect.getsource(table))).body
    for field, text in pairwise(ast.iter_child_nodes(tree)):
        match field, text:
            case (
                ast.AnnAssign(target=ast.Name(id=name)),
                ast.Expr(value=ast.Constant(value=str(words))),
            ):
                yield name, " ".join(words.split())


def described(schema: dict[str, Any], model: type[BaseModel]) -> None:
    """Write what is wanted of each key into the JSON Schema of a table."""
    for key, shape in schema.get("properties", {}).items():
        shape["description"] = wanted_in(model)[key]


def length_field(default: float) -> Any:
    """Return a field that holds a length where none is written [mm].

    In the JSON Schema the default carries its unit: a plain number would be read in
    that of the scene.
    """
    text = MILLIMETRES.exact(default)
    return Field(default=default, json_schema_extra={"default": text})


class Table(BaseModel):
    """A table whose keys are its fields; the text below a field says what is wanted."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        defer_build=True,
        json_schema_extra=described,
    )

    written: ClassVar[str]
    """How the table is written in a file, such as ``[tube]``."""

    @classmethod
    def by_key(cls) -> dict[str, FieldInfo]:
        """Return the fields by the key that stands in the file."""
        return {field.alias or name: field for name, field in cls.model_fields.items()}

    def items(self) -> Iterator[tuple[str, Any]]:
        """Return the values by the key that stands in the file."""
        for name, field in type(self).model_fields.items():
            yield field.alias or name, getattr(self, name)

    @classmethod
    def misfits(cls, _data: dict[str, Any]) -> Iterable[Finding]:
        """Return what is wrong with the choice of keys, beyond missing and unknown."""
        return ()

    def contradictions(self, _reading: Reading) -> Iterable[Finding]:
        """Return what is wrong between values that are well by themselves."""
        return ()

    @model_validator(mode="wrap")
    @classmethod
    def _all_at_once(
        cls, data: Any, handler: ModelWrapValidatorHandler[Table], info: ValidationInfo
    ) -> Table:
        """Return the table; raise all that is wrong in it as one error."""
        if not isinstance(data, dict):
            needed = in_commas(
                key for key, field in cls.by_key().items() if field.is_required()
            )
            found(data, f"a table {cls.written}{needed and f' with {needed}'}")
        findings = [*cls.misfits(data)]
        try:
            table = handler(data)
        except ValidationError as error:
            findings += _findings(cls, error)
        else:
            findings += table.contradictions(reading_of(info)) if not findings else ()
        if findings:
            refuse(findings)
        return table


def _unknown(table: type[Table], key: str) -> Finding:
    known = list(table.by_key())
    others = [one for one in Table.__subclasses__() if hasattr(one, "written")]
    homes = [other.written for other in others if key in other.by_key()]
    belongs = f" ({key} belongs in {' or '.join(homes)})" if homes else ""
    return Finding(
        path=(key,),
        found=f"a key that {table.written} does not know",
        wanted=f"one of {in_commas(known)}{belongs}",
        nearest=nearest_name(key, known),
    )


def _findings(table: type[Table], error: ValidationError) -> Iterator[Finding]:
    """Yield what is wrong; what pydantic itself found, in the field's own words."""
    for detail in error.errors(include_url=False):
        key = str(detail["loc"][0])
        if detail["type"] == FINDINGS:
            for finding in detail["ctx"]["findings"]:
                yield finding.below(detail["loc"])
        elif detail["type"] == "extra_forbidden":
            yield _unknown(table, key)
        else:
            is_missing = detail["type"] == "missing"
            yield Finding(
                path=detail["loc"],
                found="nothing" if is_missing else shown(detail["input"]),
                wanted=wanted_in(table)[key],
            )
