"""Which cases `vestry prove` goes through: what is crossed with what, and what is varied one at a time.

docs/decisions/0013-which-cases-are-proved.md says why. A case is named by its choices, `ebola.wet.care.disposable...`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product
from types import MappingProxyType
from typing import get_args

from vestry.sequence.case import Case, Task
from vestry.sequence.policy import GloveChange, Policy, RespiratorChoice
from vestry.trade import Catalogue
from vestry.trade.values import Presentation

Choice = Mapping[str, object]

# Each axis: the word in a case's name, and the fields of the policy that it sets.
AXES: Mapping[str, Mapping[str, Choice]] = MappingProxyType(
    {
        "respirator": {one: {"respirator": one} for one in get_args(RespiratorChoice)},
        "garment": {
            "gown": {"garment": "gown"},
            "coverall": {"garment": "coverall"},
            "coverall-hooded": {"garment": "coverall", "hooded_coverall": True},
        },
        "apron": {"no-apron": {"with_apron": False}, "apron": {"with_apron": True}},
        "head": {
            "hair-cover": {"with_hair_cover": True, "with_hood": False},
            "no-hair-cover": {"with_hair_cover": False, "with_hood": False},
            "hood": {"with_hair_cover": True, "with_hood": True},
        },
        "feet": {
            "foot-covers": {"with_foot_covers": True, "foot_covers": "low"},
            "no-foot-covers": {"with_foot_covers": False},
            "boot-covers": {"with_foot_covers": True, "foot_covers": "high"},
        },
        "eyes": {one: {"eye_protection": one} for one in ("shield", "goggles")},
        "stable": {
            "respirator-when-stable": {"mask_for_stable_haemorrhagic": False},
            "mask-when-stable": {"mask_for_stable_haemorrhagic": True},
        },
        "glove-change": {f"change-{one}": {"glove_change": one} for one in get_args(GloveChange)},
    }
)


def one_at_a_time(catalogue: Catalogue) -> Mapping[str, Choice]:
    """Choices varied alone, all crossed axes beyond respirator and garment standing at their first value."""
    agents = catalogue.agents.values()
    return {
        "gloves-not-disinfected": {"disinfect_gloves": False},
        "shoes-wiped": {"wipe_shoes_last": True},
        "no-assistant": {"assistant": False},
        "no-observer": {"observer": False},
        "observer-hands-on": {"hands_on": "observer"},
        "nobody-hands-on": {"hands_on": "nobody"},
        "from-anteroom": {"doffing_zone": "anteroom"},
        "from-room": {"doffing_zone": "room"},
        **{f"gloves-{one.id}": {"glove_agent": one.id} for one in agents if "gloves" in one.on},
        **{f"hands-{one.id}": {"hand_agent": one.id} for one in agents if "hands" in one.on},
        **{f"in-{one.id}": {"jurisdiction": one.id} for one in catalogue.jurisdictions.values() if one.of == "country"},
        **{f"rule-off-{rule.id}": {"switched_off": (rule.id,)} for rule in catalogue.rules.values() if _orders(rule)},
    }


def _orders(rule: object) -> bool:
    return bool(getattr(rule, "before", ())) and bool(getattr(rule, "default_on", False))


@dataclass(frozen=True)
class Choices:
    """The choices of one case: enough to name it and to make it."""

    hazard: str
    presentation: Presentation
    task: Task
    words: tuple[str, ...]

    @property
    def name(self) -> str:
        """`hazard.presentation.task.respirator.garment...`"""
        return ".".join((self.hazard, self.presentation, self.task, *self.words))

    def case(self) -> Case:
        """The case itself; every kind of gear is at hand."""
        return Case(hazard=self.hazard, presentation=self.presentation, tasks=(self.task,))


def policies(catalogue: Catalogue) -> Mapping[tuple[str, ...], Policy]:
    """Every policy of the catalogue of cases, by the words that name it."""
    found: dict[tuple[str, ...], Policy] = {}
    for words in product(*AXES.values()):
        found[words] = _policy(axis[word] for axis, word in zip(AXES.values(), words, strict=True))
    first = tuple(next(iter(axis)) for axis in AXES.values())
    for respirator, garment in product(AXES["respirator"], AXES["garment"]):
        words = (respirator, garment, *first[2:])
        for word, choice in one_at_a_time(catalogue).items():
            base = [axis[one] for axis, one in zip(AXES.values(), words, strict=True)]
            found[(respirator, garment, word)] = _policy([*base, choice])
    return found


def _policy(choices: Iterator[Choice] | list[Choice]) -> Policy:
    chosen: dict[str, object] = {}
    for choice in choices:
        chosen.update(choice)
    return Policy.model_validate(chosen)


def surroundings(catalogue: Catalogue) -> Iterator[tuple[str, Presentation, Task]]:
    """Every hazard, presentation and task, one task at a time."""
    return product(catalogue.hazards, get_args(Presentation), get_args(Task))


def case_named(name: str, catalogue: Catalogue) -> tuple[Case, Policy]:
    """The case and the policy that a name in a report stands for. KeyError when no case is called so."""
    hazard, presentation, task, words = name.split(".", 3)
    known = {".".join(key): policy for key, policy in policies(catalogue).items()}
    return Case.model_validate({"hazard": hazard, "presentation": presentation, "tasks": (task,)}), known[words]


def words_in_use(catalogue: Catalogue) -> tuple[str, ...]:
    """Every word that can stand in the name of a case."""
    crossed = (word for axis in AXES.values() for word in axis)
    around = (*catalogue.hazards, *get_args(Presentation), *get_args(Task))
    return (*around, *crossed, *one_at_a_time(catalogue))
