"""The orders that are shipped: published ones with their sources, and practice ones marked as common practice."""

from __future__ import annotations

from functools import lru_cache

from vestry.trade.shipped import shipped_texts


@lru_cache(maxsize=1)
def packaged_orders() -> dict[str, str]:
    """Order id to the text of its sequence file, in order of name."""
    return {name.removesuffix(".toml"): text for name, text in shipped_texts("orders").items()}
