"""Repeat drives as they go from drives to figures: groups with nothing changed within a group, and whose they are."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

Group, Other = TypeVar("Group"), TypeVar("Other")


@dataclass(frozen=True, eq=False, kw_only=True)
class Past(Generic[Group]):
    """Groups of repeat drives; of_others : of other cars, which may differ more or less than this one does."""

    groups: Sequence[Group] = ()
    of_others: bool = False

    def each(self, take: Callable[[Group], Other]) -> "Past[Other]":
        """The same of every group."""
        return Past(groups=[take(group) for group in self.groups], of_others=self.of_others)


NO_PAST: Past = Past()
