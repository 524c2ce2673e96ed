"""The desk's findings: published orders, two side by side, why, and a plan without one of its items."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]
EX1, COVID = "cdc-standard-doff-ex1--respirator-shield", "cdc-covid-doff-2020--respirator-shield"
REACHED = "cdc-ebola-2014oct-papr-doff--gown-external-with-apron"


def told(answer: Any) -> str:
    """What a page says, without its markup."""
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode())))


def get(client: Client, address: str, **asked: Any) -> Any:
    return client.get(address, asked)


# ---- published orders ----


def test_the_list_holds_every_order_with_its_verdicts_and_its_certainty(signed_in: Sign):
    page = signed_in("ingrid").get("/orders/").content.decode()

    from vestry.trade.orders import packaged_orders

    assert all(f'href="/orders/{name}/"' in page for name in packaged_orders())
    assert "recalled, to be checked against the source" in page
    row = page.split(f'href="/orders/{REACHED}/"')[1].split("</li>")[0]
    assert "dry: route found" in row
    assert "wet: route found" in row


def test_an_order_that_is_weaker_on_one_endpoint_says_so_with_the_route_and_tells_nobody_to_change_it(signed_in: Sign):
    said = told(get(signed_in("anselm"), f"/orders/{EX1}/"))

    assert "This order is weaker on eyes, nose or mouth: 5 routes with one error, against 4 in COVID-19 PPE" in said
    assert "At step 3, Gown off, from inside: if the gown is shaken, front of the gown threw droplets onto eyes" in said
    assert not re.search(r"\b(should|must not|recommend|safer?|better)\b", said, re.IGNORECASE)


def test_an_order_nobody_shipped_is_not_there(signed_in: Sign):
    assert get(signed_in("ingrid"), "/orders/no-such/").status_code == 404


# ---- two side by side ----


def test_two_orders_are_compared_with_counts_and_steps_side_by_side(signed_in: Sign):
    answer = get(signed_in("ingrid"), "/compare/", a=f"order:{EX1}", b=f"order:{COVID}")
    said = told(answer)

    assert "A is weaker on eyes, nose or mouth" in said
    assert "Numbers of routes" in said
    assert 'class="moved"' in answer.content.decode()
    assert 'class="new"' in answer.content.decode()


def test_the_same_twice_is_equal(signed_in: Sign):
    assert "The two are the same in ensemble, case and steps." in told(
        get(signed_in("ingrid"), "/compare/", a=f"order:{EX1}", b=f"order:{EX1}")
    )


def test_a_plan_beside_a_procedure_and_beside_an_order_of_another_ensemble(signed_in: Sign, planned: Any, version: Any):
    same = told(get(signed_in("ingrid"), "/compare/", a=f"case:{planned.pk}", b=f"procedure:{version.pk}"))
    other = told(get(signed_in("ingrid"), "/compare/", a=f"case:{planned.pk}", b=f"order:{EX1}"))

    assert "The two are the same" in same
    assert "numbers of routes do not compare" in other
    assert "Numbers of routes" not in other.split("What was found")[1]


@pytest.mark.parametrize(
    "name", ["order:nothing", "case:nothing", "procedure:0", "case:", "x", "order:<script>", "\x00"]
)
def test_what_is_not_there_is_not_found_on_any_page(signed_in: Sign, name: str):
    client = signed_in("ingrid")

    assert get(client, "/compare/", a=name, b=f"order:{EX1}").status_code == 404
    assert get(client, "/explain/", of=name).status_code == 404
    assert get(client, "/substitute/", of=name).status_code == 404
    assert get(client, "/explain/why.pdf", of=name).status_code == 404


# ---- why ----


def test_why_shows_each_route_as_a_sentence_in_pictures_and_with_sources(signed_in: Sign):
    answer = get(signed_in("ingrid"), "/explain/", of=f"order:{REACHED}")
    page, said = answer.content.decode(), told(answer)

    assert "hose touched left inner glove, hand (step 13), which touched chin seal of the helmet (step 14)" in said
    first = page.split('<ol class="strip">')[1].split("</ol>")[0]
    assert first.count("<svg") == first.count("<li>") == 3
    assert first.count('data-mark="passing"') == 3
    assert "common practice, no source" in said
    assert len(re.findall(r' id="([^"]+)"', page)) == len(set(re.findall(r' id="([^"]+)"', page)))


def test_why_not_says_what_would_have_to_go_wrong(signed_in: Sign, planned: Any):
    said = told(get(signed_in("anselm"), "/explain/", of=f"case:{planned.pk}"))

    assert "What would have to go wrong" in said
    assert re.search(r"Eyes: reached with one error; there (is one way|are \d+ ways)\.", said)
    assert "nothing within 3 errors together reaches it." in said


@pytest.mark.slow
def test_why_of_a_step_and_of_an_endpoint(signed_in: Sign, planned: Any, worked_out: Any):
    watched = next(one for one in worked_out.assurance.steps if one.watch)
    client, of = signed_in("ingrid"), f"case:{planned.pk}"

    assert "What an error at step" in told(get(client, "/explain/", of=of, step=watched.step))
    assert "<svg" in get(client, "/explain/", of=of, surface="body.eyes").content.decode()


def test_an_unknown_endpoint_is_named_and_escaped(signed_in: Sign):
    answer = get(signed_in("ingrid"), "/explain/", of=f"order:{EX1}", surface="<script>alert(1)</script>")

    assert answer.status_code == 422
    assert "<script>alert" not in answer.content.decode()
    assert "no endpoint is called" in told(answer)


def test_why_on_paper_is_a_pdf(signed_in: Sign):
    answer = get(signed_in("ingrid"), "/explain/why.pdf", of=f"order:{EX1}", surface="body.eyes")

    assert answer["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF-")


@pytest.mark.slow
def test_a_plan_leads_to_why_from_its_verdict_its_steps_and_its_routes(signed_in: Sign, planned: Any, version: Any):
    for address, of in (
        (f"/cases/{planned.pk}/", f"case:{planned.pk}"),
        (f"/procedures/{version.pk}/", f"procedure:{version.pk}"),
    ):
        client = signed_in("ingrid")
        page = client.get(address).content.decode()
        links = [html.unescape(one) for one in re.findall(r'href="(/explain/\?of=[^"]+)"', page)]

        assert any(one == f"/explain/?of={of}" for one in links)
        assert any("&step=" in one for one in links)
        assert any("&surface=" in one for one in links)
        for one in {*links[:2], links[-1]}:
            assert client.get(one).status_code == 200, one


# ---- without an item ----


def test_a_plan_without_an_item_is_marked_unapproved_and_told_step_by_step(signed_in: Sign, planned: Any):
    answer = get(
        signed_in("ingrid"),
        "/substitute/",
        of=f"case:{planned.pk}",
        without="respirator-disposable",
        because="fit-test",
    )
    said = told(answer)

    assert "UNAPPROVED. Practised by 0 of those on shift; how many they are is not known here." in said
    assert "The wearer has no fit test for the respirator." in said
    assert re.search(r"Step \d+ falls away: ", said)
    assert re.search(r"Step \d+ is new: ", said)
    assert "numbers of routes do not compare" in said


def test_a_loss_that_leaves_no_plan_says_what_stays_open(signed_in: Sign, planned: Any):
    said = told(get(signed_in("ingrid"), "/substitute/", of=f"case:{planned.pk}", without="scrubs"))

    assert "There is no plan without it" in said
    assert "nothing at hand is worn in its place" in said


@pytest.mark.parametrize(("without", "instead"), [("goggles", ""), ("face-shield", "no-such"), ("<b>", "")])
def test_a_wrong_question_is_refused_with_what_would_be_right(
    signed_in: Sign, planned: Any, without: str, instead: str
):
    answer = get(signed_in("ingrid"), "/substitute/", of=f"case:{planned.pk}", without=without, **{"with": instead})

    assert answer.status_code == 422
    assert "That cannot be asked" in told(answer)
    assert "<b> is not worn" not in answer.content.decode()


def test_an_order_has_no_plan_to_substitute_in(signed_in: Sign):
    assert get(signed_in("ingrid"), "/substitute/", of=f"order:{EX1}", without="gown-isolation").status_code == 404


@pytest.mark.slow
def test_the_differences_on_paper_are_a_pdf_and_nothing_is_stored(signed_in: Sign, planned: Any, version: Any):
    from vestry.hospital.desk.models import PlannedCase, ProcedureVersion

    answer = get(
        signed_in("ingrid"), "/substitute/differences.pdf", of=f"procedure:{version.pk}", without="face-shield"
    )

    assert answer.content.startswith(b"%PDF-")
    assert (PlannedCase.objects.count(), ProcedureVersion.objects.count()) == (1, 1)


# ---- what a rule does ----


@pytest.mark.slow
def test_each_rule_is_weighed_with_its_source_and_can_be_switched(signed_in: Sign, planned: Any):
    client, of = signed_in("ingrid"), f"case:{planned.pk}"
    answer = get(client, "/rules/", of=of)
    page, said = answer.content.decode(), told(answer)

    assert 'value="garment-before-foot-covers" id="rule-garment-before-foot-covers" checked' in page
    assert 'value="shield-before-garment" id="rule-shield-before-garment">' in page
    assert "Costs on eyes, nose or mouth" in said
    assert "US CDC" in said
    assert "About people: never weighed, never left out." in said
    assert "The best order as the policy stands" in said
    assert get(client, "/rules/rules.pdf", of=of).content.startswith(b"%PDF-")
    turned = told(get(client, "/rules/", of=of, chosen="1", on=["shield-before-garment", "no-such-rule"]))
    assert "The best order with these rules" in turned
    first = turned.split("The best order with these rules")[1].split("Rules that can be switched")[0]
    assert first.index("Shield") < first.index("Gown")


@pytest.mark.slow
def test_rules_that_cannot_all_be_kept_say_so(signed_in: Sign, planned: Any):
    both = ["shield-before-garment", "garment-before-shield"]
    said = told(get(signed_in("anselm"), "/rules/", of=f"case:{planned.pk}", chosen="1", on=both))

    assert "No order of removals keeps every rule that is ticked." in said


def test_while_the_rules_are_weighed_the_page_says_how_far_it_is(signed_in: Sign, planned: Any, monkeypatch: Any):
    from vestry.hospital.jobs.weighing import State

    monkeypatch.setattr("vestry.hospital.desk.weighing.weighed", lambda *parts: State(words="Rule 3 of 9"))
    page = get(signed_in("ingrid"), "/rules/", of=f"case:{planned.pk}").content.decode()

    assert 'http-equiv="refresh"' in page
    assert "Rule 3 of 9" in page


# ---- who may ----


@pytest.mark.parametrize("name", ["tomas", "noor", "oona", "ada"])
def test_observers_and_wearers_see_none_of_it(signed_in: Sign, planned: Any, name: str):
    client = signed_in(name)
    for address in ("/orders/", f"/orders/{EX1}/", "/compare/", "/explain/", f"/substitute/?of=case:{planned.pk}"):
        assert client.get(address).status_code == 403
    assert "/orders/" not in client.get("/").content.decode()
