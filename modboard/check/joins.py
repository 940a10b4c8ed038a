"""Groups that grow together: disjoint sets with path halving (Tarjan and van Leeuwen 1984).

The cost is near linear in the number of joins.
"""

from __future__ import annotations


class Joins:
    """Numbers 0 to `count` - 1, each at first in a group of its own."""

    def __init__(self, count: int) -> None:
        self._above = list(range(count))

    def group(self, item: int) -> int:
        """Return the number that stands for the group of `item`: the least in it."""
        above = self._above
        while above[item] != item:
            above[item] = above[above[item]]
            item = above[item]
        return item

    def join(self, one: int, other: int) -> None:
        """Make one group of the groups of both."""
        one, other = self.group(one), self.group(other)
        if one != other:
            self._above[max(one, other)] = min(one, other)
