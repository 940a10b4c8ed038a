"""Turn a description into a board: place what is not fixed, route it, flood the pours."""

from __future__ import annotations

from concurrent.futures import Executor
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from modboard.describe.design import Design
    from modboard.describe.model import Description
    from modboard.layout.board import Board


def layout(
    design: Design | Description,
    *,
    executor: Executor | None = None,
    progress: Callable[[str], None] | None = None,
) -> Board:
    """Return the laid-out board of a design.

    Deterministic: the same design gives the same board, whatever the executor.  Connections that cannot be made are
    listed in `Board.unrouted`, never dropped.  Raises ModboardError for a faulty design or if parts cannot be placed.
    """
    from modboard.describe.model import Description
    from modboard.layout.search import search

    description = design if isinstance(design, Description) else design.described()
    return search(description, executor=executor, progress=progress)
