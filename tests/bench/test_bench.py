"""The benchmarks run, at a small size; what they compare is compared; a difference or a missed floor is said."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from bench import __main__ as command
from bench import cut_sets, machine, planning, proving, searching
from bench.measured import Floor, Measured, Table, at_share, from_json, in_turn
from bench.page import page
from bench.size import TINY

from vestry.contact.cutsets import CutSets


def test_antichains_and_clingo_give_the_same_sets_of_a_few_orders():
    found = cut_sets.measure_antichains(TINY)

    assert found.unequal == ()
    assert found.tables[1].rows[0][3] != "0"  # sets were found, so that there was something to compare
    assert [floor.what for floor in found.floors] == [
        "cut sets to order 2, all orders together, totals, clingo told the quicker way"
    ]


def test_enumeration_and_clingo_give_the_same_sets_of_a_few_orders():
    assert cut_sets.measure_enumeration(TINY).unequal == ()


def test_a_set_too_few_is_a_difference(monkeypatch):
    right = cut_sets.cut_sets

    def one_too_few(program, order, latent):
        found = right(program, order, latent)
        ever = {number: sets[1:] if len(sets) > 1 else sets for number, sets in found.ever.items()}
        return CutSets(ever, found.at_end, order)

    monkeypatch.setattr(cut_sets, "cut_sets", one_too_few)
    found = cut_sets.measure_antichains(TINY)

    assert "au-doh-2021-doff--mask-goggles to 2 events: the answers differ" in found.unequal
    assert not found.good


def test_the_cost_of_a_search_is_confirmed():
    found = searching.measure(TINY)

    assert found.unequal == ()
    assert found.tables[0].rows[0][-1] == "yes"


def test_another_cost_than_the_solvers_is_a_difference(monkeypatch):
    right = searching.search_order
    monkeypatch.setattr(
        searching, "search_order", lambda *asked: replace(found := right(*asked), cost=(*found.cost[:-1], 1))
    )
    found = searching.measure(TINY)

    assert len(found.unequal) == 1
    assert "the search costs" in found.unequal[0]


@pytest.mark.slow
def test_plans_are_timed_with_their_floors():
    found = planning.measure(TINY)

    assert len(found.floors) == 4
    assert [row[0].split(" of ")[0] for row in found.tables[0].rows] == 2 * ["2 cases"] + 2 * ["2 distinct ways out"]
    assert int(found.tables[1].rows[0][1]) > 10  # recoveries


@pytest.mark.slow
def test_the_proof_runs_to_its_end_and_its_report_is_read():
    found = proving.measure(TINY)
    cases, planned, *_ = map(int, found.tables[0].rows[0][:5])

    assert 0 < planned <= cases
    assert found.floors[0].met


# ---- the parts ----


def test_ways_are_timed_in_turn_and_the_best_round_counts():
    called = []
    ways = [lambda: called.append("a") or 1, lambda: called.append("b") or 2]

    found = in_turn(3, ways)

    assert called == ["a", "b"] * 3
    assert [answer for _, answer in found] == [1, 2]
    assert all(0 <= seconds < 1 for seconds, _ in found)


def test_the_value_that_a_share_does_not_exceed_is_by_nearest_rank():
    ordered = [float(number) for number in range(1, 21)]

    assert [at_share(ordered, share) for share in (0.5, 0.95, 1.0)] == [10, 19, 20]
    assert at_share([7.0], 0.5) == 7
    with pytest.raises(ValueError, match="no values"):
        at_share([], 0.5)


def made_up(**changed) -> Measured:
    used = {"wall-seconds": 1.0, "cpu-seconds": 1.0, "peak-mb": 90}
    table = Table("Seconds", ("way", "seconds"), (("ours", "1"),))
    floor = Floor("ours", "at least 20 times", "22 times", True)
    return replace(Measured("cut-sets", "Sets", ("Two ways.",), (floor,), (table,), (), used), **changed)


def as_run(*found: Measured) -> dict:
    its = {
        "processor": "P",
        "cores": 2,
        "memory-gb": 4,
        "system": "S",
        "python": "3",
        "libraries": {},
        "load-at-start": 0,
    }
    return {"date": "2000-01-01", "commit": "abc", "machine": its, "benchmarks": [one.as_json() for one in found]}


def test_a_missed_floor_and_a_difference_are_on_the_page():
    missed = made_up(floors=(Floor("ours", "at least 20 times", "3 times", False),), unequal=("x differs",))

    text = page(as_run(missed))

    assert "| ours | at least 20 times | 3 times | **missed** |" in text
    assert "**Not equal**: x differs" in text
    assert "All answers were equal" not in text
    assert not missed.good


def test_a_run_is_kept_whole():
    assert from_json(json.loads(json.dumps(made_up().as_json()))) == made_up()


def test_the_machine_is_named_without_a_path():
    its = machine.machine()

    assert its["cores"] >= 1
    assert set(its["libraries"]) == {"clingo", "ortools", "numpy", "pydantic"}
    assert "/" not in its["system"] + its["python"] + its["processor"].replace("w/", "")


# ---- the command ----


def test_some_benchmarks_write_their_run_and_end_with_1_when_a_floor_is_missed(monkeypatch, tmp_path, capsys):
    low = made_up(floors=(Floor("ours", "at least 20 times", "3 times", False),))
    monkeypatch.setattr(command, "BENCHMARKS", {"good": lambda size: made_up(), "low": lambda size: low})
    out = tmp_path / "run.json"

    assert command.main(["good", "--out", str(out)]) == 0
    assert [one["name"] for one in json.loads(out.read_text("utf-8"))["benchmarks"]] == ["cut-sets"]
    assert command.main([]) == 1
    assert "**missed**" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["nothing"], "no benchmark is called nothing; there are cut-sets, enumeration, search, plan, amounts, prove"),
        (["cut-sets", "--keep"], "--keep is for a whole run"),
        (["--out", "/nowhere/at/all/x.json"], "there is no folder for"),
    ],
)
def test_wrong_use_ends_with_2_and_says_what_would_be_right(words, says, capsys):
    with pytest.raises(SystemExit) as ended:
        command.main(words)

    assert ended.value.code == 2
    assert says in capsys.readouterr().err
