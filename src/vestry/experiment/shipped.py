"""The experiments that are shipped: published ones, with their inputs as they were fixed before the first run."""

from __future__ import annotations

from functools import lru_cache

from vestry.trade.shipped import shipped_texts


@lru_cache(maxsize=1)
def packaged_experiments() -> dict[str, str]:
    """File name to the text of the file, in order of name."""
    return shipped_texts("experiments")
