"""The paper's own words: what the sheet says around the words of the plan. One set per language."""

from __future__ import annotations

from dataclasses import asdict, dataclass


@dataclass(frozen=True)
class Labels:
    """Short texts of the printed sheet; {..} is filled in."""

    donning: str
    doffing: str
    donning_lead: str
    doffing_lead: str
    own: str
    own_lead: str
    nothing_of: str
    turnaround: str
    turnaround_lead: str
    seen: str
    not_seen: str
    prompted: str
    stop_point: str
    together: str
    waste: str
    hold: str
    avoid: str
    contaminated: str
    front: str
    back: str
    hygiene_gloves: str
    hygiene_hands: str
    wearing: str
    nothing: str
    page: str
    steps: str
    step: str
    plan: str
    version: str
    approved: str
    practised: str
    printed: str
    unapproved: str
    unapproved_why: str
    draft: str
    after_stop: str
    after_stop_where: str
    call: str
    answer: str
    answer_here: str
    hold_card: str
    case: str
    tasks: str
    unit: str
    approval: str
    ensemble: str
    item: str
    why: str
    rests: str
    conventions: str
    flips: str
    gaps: str
    reached: str
    at_arrival: str
    starts: str
    starts_alone: str
    starts_besides: str
    clean_later: str
    cautions: str
    sources: str
    publisher: str
    year: str
    text: str
    certainty: str
    unknown_year: str
    recall_mark: str
    facts: str
    differences: str
    every_step: str
    team: str
    rules_title: str
    best_order: str
    not_weighed: str
    in_force: str
    switched_off: str
    rule: str
    before: str
    was: str
    now: str
    change: str
    read_aloud: str
    further_was: str
    further_now: str
    routes: str
    at_step: str
    touch: str
    source: str
    anything: str
    watch: str
    hold_card_short: str
    go_on: str
    answers: str
    answers_lead: str
    happened: str
    does: str
    reached_already: str
    book: str
    contents: str
    number: str
    none_in_force: str

    def as_json(self) -> dict[str, str]:
        """Plain JSON."""
        return asdict(self)


ENGLISH = Labels(
    donning="Donning",
    doffing="Doffing",
    donning_lead="Read each step aloud as it stands. The wearer repeats it, then does it. Tick what you saw.",
    doffing_lead="Read each step aloud as it stands. The wearer repeats it, then does it. Tick what you saw. "
    "Anything else happens: say stop, and go to page 1.",
    own="{who}: own donning and doffing",
    own_lead="Donning before the wearer. Doffing once the last wearer is out: the assistant first, the observer last.",
    nothing_of="Nothing was at hand of: {items}.",
    turnaround="Between two exits",
    turnaround_lead="One wearer is out, the next waits. Every step is done and seen before the lane is called clear.",
    seen="seen",
    not_seen="not seen",
    prompted="prompted",
    stop_point="Stop point",
    together="Belongs together: not left half done",
    waste="Into",
    hold="hold here",
    avoid="do not touch",
    contaminated="may be contaminated",
    front="Seen from the front",
    back="Seen from behind",
    hygiene_gloves="Two gloved hands and a drop",
    hygiene_hands="Two bare hands and a drop",
    wearing="worn",
    nothing="nothing yet",
    page="page {page} of {pages}",
    steps="steps {first} to {last}",
    step="step {first}",
    plan="Plan",
    version="Version {version}",
    approved="approved {on} by {by}",
    practised="Practised",
    printed="printed {on}",
    unapproved="UNAPPROVED",
    unapproved_why="Computed, not approved. Only the programme lead can release it.",
    draft="DRAFT TRANSLATION, not reviewed. Not for a real entry.",
    after_stop="After a STOP",
    after_stop_where="After a STOP: page 1",
    call="Call",
    answer="Find the unit's approved answer for this step in the procedure book, under the number of the step.",
    answer_here="Find the unit's approved answer on the last pages, under the number of the step.",
    hold_card="Not sure, several things at once, or no answer fits: the unit's hold card. Never a guess.",
    case="The case",
    tasks="Tasks",
    unit="Unit",
    approval="Approval",
    ensemble="What is worn, in the order it goes on",
    item="Item",
    why="Why",
    rests="What the verdict rests on",
    conventions="These conventions are relied on",
    flips="If it does not hold, the verdict changes.",
    gaps="Nothing covers",
    reached="Found with every step done as taught",
    at_arrival="on arrival",
    starts="This way out starts where the wearer stands now",
    starts_alone="May be contaminated at its start: {items}.",
    starts_besides="May be contaminated at its start, besides what the room puts there: {items}.",
    clean_later="clean again at the end",
    cautions="Cautions",
    sources="Sources",
    publisher="Publisher",
    year="Year",
    text="Text",
    certainty="How sure",
    unknown_year="not known",
    recall_mark="From memory",
    facts="Facts",
    differences="What differs",
    every_step="Every step, side by side",
    team="Beside the wearer",
    rules_title="What each published rule does",
    best_order="The best order as the policy stands",
    not_weighed="Not weighed",
    in_force="In force",
    switched_off="Off",
    rule="Rule",
    before="Before: plan",
    was="Was",
    now="Now",
    change="Change",
    read_aloud="Read aloud",
    further_was="Errors, was",
    further_now="Errors, now",
    routes="The way there",
    at_step="Step",
    touch="What touched what",
    source="Source",
    watch="Watch",
    anything="not sure what: whatever may have gone wrong here",
    hold_card_short="Hold card",
    go_on="go on with step {step}",
    answers="Approved answers",
    answers_lead="After a STOP: find the number of the step, then what happened. Read the way on aloud, step by step.",
    happened="What happened",
    does="The way on",
    reached_already="May have been reached already: {surfaces}. First aid by the unit's own text.",
    book="Procedure book",
    contents="Contents",
    number="Step",
    none_in_force="No procedure is in force.",
)
