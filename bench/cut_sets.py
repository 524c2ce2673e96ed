"""Cut sets of every endpoint of the published orders: antichains and bit-parallel enumeration against clingo."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from bench.measured import Floor, Measured, Resources, Table, in_turn, ms, times
from bench.peers.answer_sets import Asked, Grounded, Told
from bench.size import Size
from vestry.contact.compiler import compile_order
from vestry.contact.cutsets import cut_sets
from vestry.contact.program import Program
from vestry.contact.scenarios import cut_sets_by_enumeration
from vestry.trade import load_catalogue, read_order
from vestry.trade.orders import packaged_orders

FLOOR = 20.0
Answers = dict[Asked, frozenset[int]]
Ours = Callable[[Program, int], tuple[dict[int, tuple[int, ...]], dict[int, tuple[int, ...]]]]


@dataclass(frozen=True)
class Row:
    """One order at one size of sets: seconds of each way."""

    order: str
    size: int
    ops: int
    events: int
    sets: int
    ours: float
    ground: dict[Told, float]
    solve: dict[Told, float]

    def total(self, told: Told) -> float:
        """The peer's seconds from the compiled program to the answers."""
        return self.ground[told] + self.solve[told]


def antichains(program: Program, size: int) -> tuple[dict[int, tuple[int, ...]], dict[int, tuple[int, ...]]]:
    """Our first way: of every surface, ever and at the end."""
    found = cut_sets(program, size, latent=True)
    return found.ever, found.at_end


def enumeration(program: Program, size: int) -> tuple[dict[int, tuple[int, ...]], dict[int, tuple[int, ...]]]:
    """Our second way: all scenarios of up to so many events."""
    return cut_sets_by_enumeration(program, size, latent=True)


def measure_antichains(size: Size) -> Measured:
    """Antichains against clingo, with the floor."""
    return _measured("cut-sets", "Cut sets: antichains against clingo", antichains, size, size.rounds, FLOOR)


def measure_enumeration(size: Size) -> Measured:
    """Bit-parallel enumeration against clingo; no floor is set for it."""
    return _measured("enumeration", "Cut sets: bit-parallel enumeration against clingo", enumeration, size, 1, None)


def programs(every_nth: int) -> dict[str, Program]:
    """The compiled programs of the published orders that are shipped."""
    catalogue = load_catalogue()
    names = sorted(packaged_orders())[::every_nth]
    return {name: compile_order(read_order(packaged_orders()[name], name), catalogue) for name in names}


def of_endpoints(program: Program, ours: Ours, size: int) -> Answers:
    """Our answers in the peer's shape: those endpoints that are reached."""
    ever, at_end = ours(program, size)
    ends = [number for number, _ in program.endpoints]
    found: Answers = {(number, "ever"): frozenset(ever.get(number, ())) for number in ends}
    found |= {(number, "at-end"): frozenset(at_end.get(number, ())) for number in ends}
    return {asked: sets for asked, sets in found.items() if sets}


def _measured(name: str, title: str, ours: Ours, size: Size, rounds: int, floor: float | None) -> Measured:
    used = Resources()
    rows: list[Row] = []
    unequal: list[str] = []
    for order, program in programs(size.every_nth).items():
        for sets in size.event_sets:
            row, same = _row(order, program, ours, sets, rounds)
            rows.append(row)
            if not same:
                unequal.append(f"{order} to {sets} events: the answers differ")
    tables = [_totals(rows, size.event_sets), _by_order(rows, size.event_sets)]
    said = (
        f"{len({row.order for row in rows})} published orders, every endpoint, ever and at the end, hidden faults "
        "included, from the compiled program to the sets.",
        "clingo: one grounding for all endpoints, an external for each; domain heuristic and record-keeping "
        "enumeration, so that it gives the subset-minimal sets alone. Told twice: as text, through its grounder, and "
        "as ground rules, which spares it that. *Total* is from the compiled program, *solve* is the solving alone.",
        f"Ours and clingo's in turn, best of {rounds}." if rounds > 1 else "Ours and clingo's in turn, one round.",
    )
    floors = tuple(_floors(rows, size.event_sets, floor)) if floor is not None else ()
    return Measured(name, title, said, floors, tuple(tables), tuple(unequal), used.used())


def _row(order: str, program: Program, ours: Ours, sets: int, rounds: int) -> tuple[Row, bool]:
    grounded: dict[Told, Grounded] = {}

    def ground(told: Told) -> Callable[[], Answers]:
        def way() -> Answers:
            grounded[told] = Grounded(program, sets, told=told)
            return {}

        return way

    def solve(told: Told) -> Callable[[], Answers]:
        return lambda: grounded[told].minimal_sets()

    def mine() -> Answers:
        ours(program, sets)
        return {}

    told: tuple[Told, ...] = ("text", "ground-rules")
    ways = [mine, *(way(one) for one in told for way in (ground, solve))]
    (first, _), *others = in_turn(rounds, ways)
    answers = of_endpoints(program, ours, sets)
    peers = [{asked: found for asked, found in found_.items() if found} for _, found_ in others[1::2]]
    events = sum(event.sort != "residue" for event in program.events)
    row = Row(
        order,
        sets,
        len(program.ops),
        events,
        sum(map(len, answers.values())),
        first,
        {one: others[2 * n][0] for n, one in enumerate(told)},
        {one: others[2 * n + 1][0] for n, one in enumerate(told)},
    )
    return row, all(peer == answers for peer in peers)


def _floors(rows: list[Row], sizes: tuple[int, ...], floor: float) -> Iterator[Floor]:
    for size in sizes:
        those = [row for row in rows if row.size == size]
        quicker = min(sum(row.total(told) for row in those) for told in ("text", "ground-rules"))
        ratio = quicker / sum(row.ours for row in those)
        yield Floor(
            f"cut sets to order {size}, all orders together, totals, clingo told the quicker way",
            f"at least {floor:.0f} times",
            f"{times(ratio)} times",
            ratio >= floor,
        )


def _totals(rows: list[Row], sizes: tuple[int, ...]) -> Table:
    head = ["to order", "ours, ms"]
    for told, made in (("text", "ground"), ("ground rules", "make")):
        head += [f"clingo {told}: {made}, ms", "solve, ms", "ratio of totals"]
    head += ["least ratio of one order", "greatest"]
    lines = []
    for size in sizes:
        those = [row for row in rows if row.size == size]
        ours = sum(row.ours for row in those)
        cells = [str(size), ms(ours)]
        for told in ("text", "ground-rules"):
            total = sum(row.total(told) for row in those)
            cells += [
                ms(sum(r.ground[told] for r in those)),
                ms(sum(r.solve[told] for r in those)),
                times(total / ours),
            ]
        one_by_one = [min(row.total("text"), row.total("ground-rules")) / row.ours for row in those]
        lines.append((*cells, times(min(one_by_one)), times(max(one_by_one))))
    return Table("All orders together", tuple(head), tuple(lines))


def _by_order(rows: list[Row], sizes: tuple[int, ...]) -> Table:
    head = ["order", "operations", "events"]
    for size in sizes:
        head += [f"sets to {size}", "ours, ms", "clingo text, ms", "clingo rules, ms", "ratio"]
    lines = []
    for order in dict.fromkeys(row.order for row in rows):
        those = [row for row in rows if row.order == order]
        cells = [order, str(those[0].ops), str(those[0].events)]
        for row in those:
            text, rules = row.total("text"), row.total("ground-rules")
            cells += [str(row.sets), ms(row.ours), ms(text), ms(rules), times(min(text, rules) / row.ours)]
        lines.append(tuple(cells))
    title = "Each order; the ratio is against the quicker of the two"
    return Table(title, tuple(head), tuple(lines), long=True)
