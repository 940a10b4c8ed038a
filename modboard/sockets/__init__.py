"""Adapters: another chip in a host machine's socket, wired by the names of the pins."""

from modboard.sockets.build import adapter
from modboard.sockets.match import Row, Table, compare

__all__ = ["Row", "Table", "adapter", "compare"]
