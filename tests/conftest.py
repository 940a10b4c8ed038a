"""The suite tries the same examples every time; ``--hypothesis-profile=explore`` looks for new ones."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("same", derandomize=True)
settings.register_profile("explore", derandomize=False)
settings.load_profile("same")
