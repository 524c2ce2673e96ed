"""A fan chart says what its numbers say, and its words never lie over each other."""

from __future__ import annotations

import itertools
import re

import pytest
from hypothesis import given
from hypothesis import strategies as some

from vestry.papers.fan import HIGH, PAPER, RIGHT, WIDE, Fan, Mark, Says, _Drawing, fan_svg

SAYS = Says(all="9 gowns; <none> left", most="more", middle="half", least="less", hours="hours")
HOURS = (0, 12, 24, 48)
LEVELS = ((9, 5, 0, 0), (9, 6, 1, 0), (9, 7, 3, 0), (9, 8, 5, 2), (9, 9, 7, 4))


def texts(svg: str) -> list[tuple[float, float, str]]:
    return [(float(x), float(y), said) for x, y, said in re.findall(r'x="([\d.]+)" y="([\d.-]+)"[^>]*>([^<]*)<', svg)]


def test_what_is_read_aloud_is_escaped_and_every_band_has_its_words():
    svg = fan_svg(Fan(HOURS, LEVELS), SAYS)

    assert 'role="img" aria-label="9 gowns; &lt;none&gt; left"' in svg
    assert {"more", "half", "less", "hours", "0", "48"} <= {said for *_, said in texts(svg)}


def corners(svg: str, name: str) -> list[tuple[float, float]]:
    """The corners of a path that goes along and up or down, each where the pen is after a move."""
    x, y, moves = re.search(rf'class="{name}" d="M([\d.]+) ([\d.]+)((?:[hv]-?[\d.]+)*)Z?"', svg).groups()
    at = (float(x), float(y))
    found = [at]
    for way, far in re.findall(r"([hv])(-?[\d.]+)", moves):
        at = (round(at[0] + float(far), 1), at[1]) if way == "h" else (at[0], round(at[1] + float(far), 1))
        found.append(at)
    return found


def plain(fan: Fan, row: int) -> list[tuple[float, float]]:
    """Every corner of a row: along to each hour, then to its level."""
    svg = fan_svg(Fan(fan.hours, fan.levels), SAYS)
    nought = float(re.search(r'class="fan-nought" d="M\d+ ([\d.]+)H', svg)[1])
    draw = _Drawing(fan, False)
    assert draw.y(0) == nought
    found: list[tuple[float, float]] = []
    for hour, level in zip(fan.hours, fan.levels[row], strict=True):
        found += [(draw.x(hour), found[-1][1])] if found else []
        found.append((draw.x(hour), draw.y(level)))
    return found


def bends(path: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Without the corners at which nothing turns."""
    kept: list[tuple[float, float]] = []
    for at in path:
        if kept and at == kept[-1]:
            continue
        while len(kept) > 1 and (kept[-2][0] == kept[-1][0] == at[0] or kept[-2][1] == kept[-1][1] == at[1]):
            kept.pop()
        kept.append(at)
    return kept


def test_the_middle_line_ends_at_nought_where_nothing_is_left():
    svg = fan_svg(Fan(HOURS, LEVELS), SAYS)
    nought = float(re.search(r'class="fan-nought" d="M\d+ ([\d.]+)H', svg)[1])

    assert corners(svg, "fan-middle")[-1][1] == nought


@pytest.mark.property
@given(some.lists(some.lists(some.integers(0, 900), min_size=5, max_size=5).map(sorted), min_size=2, max_size=9))
def test_line_and_bands_go_through_every_corner_of_their_rows(columns: list[list[int]]):
    fan = Fan(tuple(range(0, 12 * len(columns), 12)), tuple(zip(*columns, strict=True)))
    svg = fan_svg(fan, SAYS)

    assert bends(corners(svg, "fan-middle")) == bends(plain(fan, 2))
    for name, low, high in (("fan-outer", 0, 4), ("fan-inner", 1, 3)):
        assert bends(corners(svg, name)) == bends(plain(fan, high) + plain(fan, low)[::-1])


def test_a_delivery_is_marked_at_its_hours_and_one_after_the_end_is_not():
    svg = fan_svg(Fan(HOURS, LEVELS, (Mark(12, 24, "+60"), Mark(90, 90, "late"))), SAYS)

    assert "+60" in svg
    assert "late" not in svg
    assert svg.count("fan-mark") == 1


def test_on_paper_it_brings_its_colours_and_on_the_desk_it_has_none():
    assert "#" not in fan_svg(Fan(HOURS, LEVELS), SAYS)
    paper = fan_svg(Fan(HOURS, LEVELS), SAYS, paper=True)
    assert 'class="fan-' not in paper
    assert PAPER["fan-middle"] in paper


@pytest.mark.property
@given(some.lists(some.integers(0, 100_000), min_size=5, max_size=5).map(sorted), some.integers(1, 2160))
def test_the_words_at_the_ends_are_kept_apart_and_inside_the_drawing(ends: list[int], last: int):
    start = max(ends)
    svg = fan_svg(Fan((0, last), [(start, end) for end in ends]), SAYS)
    places = sorted(y for x, y, said in texts(svg) if said in ("more", "half", "less"))

    assert all(low + 19.9 <= high for low, high in itertools.pairwise(places))
    assert places[0] > 0
    assert places[-1] < HIGH
    assert all(0 <= x <= WIDE for x, *_ in texts(svg))
    assert RIGHT > 100
