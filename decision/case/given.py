"""Reads members of a checked object, and writes down every default it had to use."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from decision.case.spec import Record, read_instant
from decision.case.types import Assumption


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """One object of the request, whose shape has been checked already."""

    record: Record
    value: Mapping[str, Any]
    pointer: str = ""
    assumptions: list[Assumption] = field(default_factory=list)

    def of(self, name: str) -> Any:  # noqa: ANN401 - parsed JSON; the shape has been checked
        """The member, its listed default, or None."""
        member = self.record.by_name[name]
        given = self.value.get(name)
        if given is not None or member.default is None:
            return given
        if member.default not in ({}, ()):
            self._assume(name, member.default)
        return member.default

    def of_or(self, name: str, otherwise: object) -> Any:  # noqa: ANN401 - as `of`
        """The member, or what the rest of the case says it is, listed as an assumption."""
        given = self.value.get(name)
        if given is None:
            self._assume(name, otherwise)
            return otherwise
        return given

    def number(self, name: str) -> float | None:
        """A number as float, or None."""
        value = self.of(name)
        return None if value is None else float(value)

    def sure(self, name: str) -> float:
        """A number that is required or has a default."""
        return float(self.of(name))

    def instant(self, name: str) -> datetime:
        """A moment that is given. Raises ValueError for one that the shape should have refused."""
        at = read_instant(self.of(name))
        if at is None:
            raise ValueError(f"the shape let a wrong instant through: {self.of(name)}")
        return at

    def texts(self, name: str) -> tuple[str, ...]:
        """A list of strings as a tuple; empty when absent without default."""
        return tuple(self.of(name) or ())

    def member(self, name: str, record: Record) -> Given:
        """A nested object; an empty one when absent."""
        return Given(
            record=record,
            value=self.of(name) or {},
            pointer=f"{self.pointer}/{name}",
            assumptions=self.assumptions,
        )

    def items(self, name: str, record: Record, *, index: str | None = None) -> Iterable[Given]:
        """The objects of a list; `index` replaces the number in pointers of assumptions."""
        for number, item in enumerate(self.of(name) or ()):
            where = str(number) if index is None else index
            yield Given(
                record=record,
                value=item,
                pointer=f"{self.pointer}/{name}/{where}",
                assumptions=self.assumptions,
            )

    def _assume(self, name: str, value: object) -> None:
        where = f"{self.pointer}/{name}"
        if all(assumption.field != where for assumption in self.assumptions):
            text = f"{where} not given: {value} assumed"
            self.assumptions.append(Assumption(field=where, value=value, text=text))
