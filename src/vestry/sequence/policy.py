"""Policy: the hospital's standing choices. Not fact, and not decided anew for each case."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from vestry.trade.jurisdictions import UNSTATED
from vestry.trade.values import Id, Value

RespiratorChoice = Literal["disposable", "belt-blower", "helmet-blower"]
GarmentChoice = Literal["gown", "coverall"]
GloveChange = Literal["before-face-item", "search", "none"]
HandsOn = Literal["assistant", "observer", "nobody"]


class Policy(Value):
    """What the unit has decided.

    respirator, garment   preferences; the requirements may ask for more, never for less
    with_*                optional items worn
    add_inside            kinds of item that may be put on inside, over what is worn, when a case changes; empty: none
    disinfect_gloves      glove disinfection before each removal with gloved hands (a rule, on by default)
    glove_change          when inner gloves are changed on the way out
    doffing_order         the unit's own order of removals, by kind of item; empty: published or searched
    switched_off          published rules that the unit does not follow, by rule id
    switched_on           published rules that are off unless a unit follows them, by rule id
    agents                the hygiene agents in use
    assistant, observer   who is there; required by published minimum rules and never optimised away
    hands_on              who may touch the wearer in doffing; publishers disagree (the observer does not where there is
                          an assistant)
    doffing_zone          where doffing starts
    jurisdiction          whose rules hold where they differ by country (waste, respirators); `unstated` is the default
                          and says that nobody chose: common practice holds
    """

    format_version: Literal[1] = 1
    respirator: RespiratorChoice = "disposable"
    garment: GarmentChoice = "gown"
    hooded_coverall: bool = False
    with_apron: bool = False
    with_hair_cover: bool = True
    with_hood: bool = False
    with_foot_covers: bool = True
    foot_covers: Literal["low", "high"] = "low"
    eye_protection: Literal["shield", "goggles"] = "shield"
    mask_for_stable_haemorrhagic: bool = False
    add_inside: tuple[Id, ...] = ()
    disinfect_gloves: bool = True
    glove_change: GloveChange = "before-face-item"
    doffing_order: tuple[Id, ...] = ()
    switched_off: tuple[Id, ...] = ()
    switched_on: tuple[Id, ...] = ()
    glove_agent: Id = "alcohol-rub"
    hand_agent: Id = "alcohol-rub"
    surface_agent: Id = "disinfectant-wipe"
    wipe_shoes_last: bool = False
    assistant: bool = True
    observer: bool = True
    hands_on: HandsOn = "assistant"
    doffing_zone: Literal["doffing-area", "anteroom", "room"] = "doffing-area"
    limit_minutes: int = Field(default=120, ge=10, le=480)
    limit_source: Id = "hospital"
    jurisdiction: Id = UNSTATED
