"""Texts of facts that a hospital's approvals rest on are kept, and are read again after the format has grown."""

import re

from vestry.trade import load_catalogue
from vestry.trade.overlay import lay_over
from vestry.trade.shipped import shipped_texts


def older(name: str, pattern: str, instead: str) -> dict[str, str]:
    """The shipped texts with one file as it was written before."""
    texts = dict(shipped_texts())
    text, count = re.subn(pattern, instead, texts[name], flags=re.M)
    assert count
    return texts | {name: text}


def test_a_figure_for_an_unknown_class_is_read_and_never_counts_for_more_than_the_least():
    texts = older("hygiene.toml", r"bacteria = ([\d.]+) \}", r"bacteria = \1, unknown = \1 }")
    then, now = lay_over({}, texts).catalogue, load_catalogue()

    for agent in now.agents.values():
        for on in ("gloves", "hands", "surfaces"):
            assert then.agents[agent.id].log10(on, "unknown") == agent.log10(on, "unknown")


def test_colleagues_without_a_place_in_the_order_of_undressing_are_read():
    texts = older("team.toml", r"^undresses = \d+\n", "")

    assert lay_over({}, texts).catalogue.colleagues.keys() == load_catalogue().colleagues.keys()
