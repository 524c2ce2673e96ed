"""Ranks families of steps by the contact model, as decision 0010 fixed it, beside two published failure-mode studies.

    .venv/bin/python -m tools.make_ranking_page            writes docs/explanation/step-families.md
    .venv/bin/python -m tools.make_ranking_page --check    writes nothing; status 1 when the page is stale

Nothing here is chosen after the result: programs, families, sets, figures and what counts as agreement are those of the
decision. What stands under "Why" was written afterwards, by hand (docs/explanation/step-families-why.md).
"""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from tools.make_evidence_pages import HEAD, ROOT, doffing_orders, for_presentation, presentations, table

from vestry.contact.compiler import compile_order
from vestry.contact.cutsets import cut_sets
from vestry.contact.program import Event, Program
from vestry.hospital.demo import planned
from vestry.sequence import plan_case, program_of
from vestry.trade import Catalogue, load_catalogue

PAGE = ROOT / "docs" / "explanation" / "step-families.md"
WHY = ROOT / "docs" / "explanation" / "step-families-why.md"
SIZE = 3
FAMILIES = {
    "hygiene": "hand hygiene and glove disinfection",
    "garment": "outermost garment",
    "foot-covers": "foot covers",
    "hood": "hood",
    "hair-cover": "hair cover",
    "eyes": "eye protection",
    "airways": "mask or respirator",
    "powered": "powered unit",
    "outer-gloves": "outer and middle gloves",
    "inner-gloves": "gloves next to the skin and fresh ones",
    "rest": "the rest",
}
NAMED = ("hygiene", "garment", "foot-covers", "hood")
FIRST, ENOUGH = 5, 3
BY_KIND = {
    **dict.fromkeys(("gown", "coverall", "apron"), "garment"),
    **dict.fromkeys(("foot-covers", "boot-covers"), "foot-covers"),
    **dict.fromkeys(("hood", "papr-hood", "papr-shroud"), "hood"),
    "hair-cover": "hair-cover",
    **dict.fromkeys(("shield", "goggles"), "eyes"),
    **dict.fromkeys(("mask", "respirator"), "airways"),
    **dict.fromkeys(("papr-hose", "papr-belt-unit", "papr-helmet"), "powered"),
}
# Which endpoints count, and when: mucosa and helper at any time, skin and work clothing at the end.
COUNTED = {"mucosa": "ever", "helper": "ever", "skin": "at-end", "clothing": "at-end"}
FIGURES: dict[str, Mapping[str, float]] = {
    "structure alone": {"slip": 0.01, "omission": 0.01, "latent": 0.05},
    "central figures": {"slip": 0.01, "omission": 0.27, "latent": 0.05},
}


def family_of(step: str, catalogue: Catalogue) -> str:
    """The family of a step by its id, `ACT:ITEMS:TECHNIQUE`: hygiene by its act, on and off by its first item."""
    act, items, *_ = step.split(":")
    if act in ("disinfect-gloves", "hand-hygiene"):
        return "hygiene"
    item = catalogue.items.get(items.partition("+")[0])
    if act not in ("don", "doff") or item is None:
        return "rest"
    if item.kind == "gloves":
        return "outer-gloves" if item.layer in ("outer", "middle") else "inner-gloves"
    return BY_KIND.get(item.kind, "rest")


def shares(program: Program, figures: Mapping[str, float], catalogue: Catalogue) -> dict[str, float] | None:
    """Each family's share of the weight of all sets, Fussell and Vesely; None when there is no set.

    The minimal sets of each surface for itself (decision 0003), summed; the empty set holds no error and is left out.
    """
    found = cut_sets(program, SIZE, latent=True)
    values = {"ever": found.ever, "at-end": found.at_end}
    weights = [figures.get(_sort(event), 0.0) for event in program.events]  # residue is in no set
    families = [_family(event, program, catalogue) for event in program.events]
    whole, parts = 0.0, dict.fromkeys(FAMILIES, 0.0)
    for surface, kind in program.endpoints:
        for one in values[COUNTED[kind]].get(surface, ()) if kind in COUNTED else ():
            if not one:
                continue
            members = [number for number in range(one.bit_length()) if one >> number & 1]
            weight = 1.0
            for number in members:
                weight *= weights[number]
            whole += weight
            for family in {families[number] for number in members}:
                if family is not None:
                    parts[family] += weight
    return {family: part / whole for family, part in parts.items()} if whole else None


def _sort(event: Event) -> str:
    return "latent" if event.step < 0 else event.sort


def _family(event: Event, program: Program, catalogue: Catalogue) -> str | None:
    """A hidden fault belongs to no step."""
    return None if event.step < 0 else family_of(program.steps[event.step], catalogue)


# ---- over programs ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Ranked:
    """The families over many programs: mean share, and how many orders and plans had no set at all."""

    shares: dict[str, float]
    orders: int
    programs: int
    without: int

    @property
    def order(self) -> list[str]:
        """The families, largest share first; equal ones as they are listed."""
        return sorted(self.shares, key=lambda family: -self.shares[family])

    @property
    def agreeing(self) -> list[str]:
        """Those of the studies among the first five."""
        return [family for family in self.order[:FIRST] if family in NAMED]


def programs(haemorrhagic: bool, catalogue: Catalogue) -> dict[str, list[Program]]:
    """Entry (variants and presentations together) to its programs; then the plans of the invented hospital."""
    found: dict[str, list[Program]] = {}
    for name, order in doffing_orders().items():
        if order.published is None or (haemorrhagic and not _haemorrhagic(order.case.hazard, catalogue)):
            continue
        for presentation in presentations(order):
            program = compile_order(for_presentation(order, presentation), catalogue)
            found.setdefault(name.partition("--")[0], []).append(program)
    for case, policy in planned():
        if not haemorrhagic or _haemorrhagic(case.hazard, catalogue):
            found[f"plan: {case.code}"] = [program_of(plan_case(case, policy, catalogue), catalogue)]
    return found


def _haemorrhagic(hazard: str | None, catalogue: Catalogue) -> bool:
    return hazard is not None and catalogue.hazards[hazard].family == "haemorrhagic"


def ranked(every: Mapping[str, list[Program]], figures: Mapping[str, float], catalogue: Catalogue) -> Ranked:
    """Programs of one entry averaged, then the entries, each with the same weight."""
    without, entries = 0, []
    for of_entry in every.values():
        told = [one for one in (shares(program, figures, catalogue) for program in of_entry) if one is not None]
        without += len(of_entry) - len(told)
        if told:
            entries.append(_mean(told))
    return Ranked(_mean(entries), len(every), sum(map(len, every.values())), without)


def _mean(many: Iterable[Mapping[str, float]]) -> dict[str, float]:
    listed = list(many)
    return {family: sum(one[family] for one in listed) / len(listed) for family in FAMILIES}


# ---- the page --------------------------------------------------------------------------------------------------------


def page() -> str:
    """The page."""
    catalogue = load_catalogue()
    every = {"every order": programs(False, catalogue), "haemorrhagic fever only": programs(True, catalogue)}
    tables = {
        (which, told): ranked(these, figures, catalogue)
        for which, these in every.items()
        for told, figures in FIGURES.items()
    }
    lines = [
        HEAD.replace("make_evidence_pages", "make_ranking_page"),
        "# Which families of steps are riskiest",
        "",
        prose(
            "Two failure-mode studies of taking off Ebola-level gear name the riskiest families of steps: hand hygiene",
            "and glove disinfection, then hood removal (Mumma and others 2018, 11 experienced staff, one unit); hand",
            "hygiene, the outermost garment and boot covers at all of four centres (Mumma and others 2019, 41 staff).",
            "The contact model knows nothing of either. How it ranks the same families was fixed in",
            "[decision 0010](../decisions/0010-ranking-of-step-families.md) before anything was computed.",
            "What stands here is what came out.",
        ),
        "",
        "## Agreement",
        "",
        prose(
            f"Of the four families of the studies, how many are among the first {FIRST} of the",
            f"model's {len(FAMILIES)};",
            f"{ENOUGH} of {len(NAMED)} was held beforehand to be agreement.",
        ),
        "",
    ]
    lines += table(
        ("programs", "figures", "among the first five", "which", "agreement"),
        (agreement_row(which, told, found) for (which, told), found in tables.items()),
    )
    for (which, told), found in tables.items():
        lines += section(which, told, found)
    lines += ["## Why", "", WHY.read_text("utf-8").rstrip() if WHY.exists() else "Not yet written.", ""]
    return "\n".join(lines)


def prose(*parts: str) -> str:
    """A paragraph, wrapped."""
    return textwrap.fill(" ".join(parts), 118, break_long_words=False, break_on_hyphens=False)


def agreement_row(which: str, told: str, found: Ranked) -> str:
    """How the studies' families fare in one table."""
    names = ", ".join(FAMILIES[family] for family in found.agreeing) or "none"
    met = "yes" if len(found.agreeing) >= ENOUGH else "no"
    return f"| {which} | {told} | {len(found.agreeing)} of {len(NAMED)} | {names} | {met} |"


def section(which: str, told: str, found: Ranked) -> list[str]:
    """One of the four tables."""
    figures = FIGURES[told]
    rows = (
        f"| {place} | {FAMILIES[family]}{' (in the studies)' * (family in NAMED)} | {found.shares[family]:.3f} |"
        for place, family in enumerate(found.order, 1)
    )
    return [
        f"## {which[:1].upper()}{which[1:]}, {told}",
        "",
        prose(
            f"A slip {figures['slip']}, a cleaning left out or too short {figures['omission']}, a hidden fault",
            f"{figures['latent']}: judgements, no probability of anything. The mean share of the weight of all sets",
            f"of up to three errors that hold an error of the family, over {found.orders} orders and plans",
            f"({found.programs} programs, {found.without} of them without any such set). Shares need not add to one:",
            "a set can hold errors of two families, and a hidden fault belongs to none.",
        ),
        "",
        *table(("place", "family", "share"), rows),
    ]


def main(arguments: list[str]) -> int:
    """Write the page, or with `--check` say whether it is what the code makes."""
    text = page()
    if "--check" not in arguments:
        PAGE.write_text(text, encoding="utf-8")
        return 0
    return 0 if Path(PAGE).read_text("utf-8") == text else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
