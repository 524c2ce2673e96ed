"""The page of benchmarks is what a kept run gives, and so is the page of every case proved."""

from __future__ import annotations

import json
import re

from bench import __main__ as command
from bench.page import page
from tools import make_proved_page

from vestry.trade.words import load_words


def test_the_page_is_what_the_kept_run_gives():
    assert page(json.loads(command.KEPT.read_text("utf-8"))) == command.PAGE.read_text("utf-8")


def test_the_kept_run_is_of_a_commit_and_its_answers_were_equal():
    run = json.loads(command.KEPT.read_text("utf-8"))

    names = [one["name"] for one in run["benchmarks"]]
    assert {"cut-sets", "enumeration", "search", "plan", "prove"} <= set(names) <= set(command.BENCHMARKS)
    assert re.fullmatch(r"[0-9a-f]{12}", run["commit"])
    assert all(one["unequal"] == [] for one in run["benchmarks"])


def test_the_page_of_every_case_is_what_the_kept_report_gives():
    report = make_proved_page.kept()

    assert make_proved_page.page(report, load_words("en")) == make_proved_page.PAGE.read_text("utf-8")
    assert report.of == "all"
