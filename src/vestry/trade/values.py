"""The typed values of the trade: what the files under data/ become once they are read.

All are frozen. Names follow the files: kebab-case keys there, snake_case here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Annotated, Generic, Literal, TypeVar, get_args

from pydantic import BaseModel, ConfigDict, Field

T = TypeVar("T")

Certainty = Literal[
    "seen",
    "seen-secondary",
    "inferred",
    "from-memory",
    "computed",
    "judgement",
    "common-practice",
    "hospital",
    "invented",
]
LoadClass = Literal["none", "low", "high"]
Presentation = Literal["dry", "wet"]
Act = Literal[
    "don",
    "doff",
    "disinfect-gloves",
    "hand-hygiene",
    "change-gloves",
    "wipe",
    "inspect",
    "release",
    "sit",
    "touch",
    "move",
    "confirm",
]
Who = Literal["wearer", "assistant", "observer", "both", "wearer-and-observer"]
Role = Literal["assistant", "observer"]
Zone = Literal["room", "doffing-area", "anteroom", "outside", "clean-side"]
Id = Annotated[str, Field(pattern=r"^[a-z0-9]+([-.~:@][a-z0-9]+)*$", max_length=120)]


def _kebab(name: str) -> str:
    return name.rstrip("_").replace("_", "-")


class Value(BaseModel):
    """Base of every record: frozen, no unknown keys, kebab-case in files."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", alias_generator=_kebab, populate_by_name=True, allow_inf_nan=False
    )


class Sourced(Value):
    """A record that says where it comes from and how surely."""

    source: Id
    certainty: Certainty


class Fact(Sourced, Generic[T]):
    """One value with its own source; `value` is None for what is unknown, with `default` a cautious judgement."""

    value: T | None = None
    default: T | None = None
    year: int | None = None
    range: tuple[float, float] | None = None
    note: str | None = None


class Source(Value):
    """A publication or a kind of knowledge (common practice, judgement, invented)."""

    id: Id
    publisher: str
    title: str
    year: str = "unknown"
    url: str | None = None
    read_as: Certainty


class Face(Value):
    """A face of an item: where it lies, how it shelters, which exposure zone loads it."""

    id: Id
    at: tuple[Id, ...] = ()
    cover: Literal["sealing", "open", "narrow"]
    zone: Id
    inside: tuple[Id, ...] = ()
    endpoint: Literal["clothing"] | None = None


class Latent(Sourced):
    """An unnoticed fault that lets contamination through: from a face to what lies beneath it at a site."""

    id: Id
    from_: Id = Field(alias="from")
    at: Id


class Drag(Value):
    """Faces that follow when the item is drawn out from beneath what lies over it at these sites."""

    at: tuple[Id, ...]
    faces: tuple[Id, ...]


class Form(Value):
    """A set of faces that several items share."""

    id: Id
    faces: tuple[Face, ...]
    drags: tuple[Drag, ...] = ()
    latent: tuple[Latent, ...] = ()


class Item(Sourced):
    """A kind of thing that can be worn."""

    id: Id
    kind: Id
    sizes: tuple[str, ...]
    form: Id | None = None
    faces: tuple[Face, ...] = ()
    drags: tuple[Drag, ...] = ()
    latent: tuple[Latent, ...] = ()
    layer: Literal["inner", "middle", "outer", "single", "fresh"] | None = None
    length: Literal["standard", "long"] | None = None
    barrier: str | None = None
    barrier_class: Literal["isolation", "fluid-resistant", "impermeable"] | None = None
    clothes: tuple[Id, ...] = ()
    traps: tuple[Id, ...] = ()
    tied_to: Id | None = None
    filters_air: bool = False
    reusable: bool = False
    under_sleeve: bool = False
    fit_tested: bool = False

    def face(self, name: str) -> Face | None:
        """The face of this name, or None."""
        return next((face for face in self.faces if face.id == name), None)


class Touch(Value):
    """One touch of a technique in the touch language (data/techniques-hands.toml), with its source."""

    touch: str
    slip: Id | None = None
    residue: Id | None = None
    from_: Id = Field(alias="from")


class Technique(Sourced):
    """The ordered touches of one act on one kind of item.

    hands   which hands it is taught for: `gloved`, `bare`, `clean` (bare, or in fresh gloves just put on), `any`
    """

    id: Id
    act: Act
    for_: tuple[Id, ...] = Field(default=(), alias="for")
    together: tuple[Id, ...] = ()
    hands: Literal["gloved", "bare", "clean", "any"] = "any"
    who: Who | None = None
    taught: bool = True
    pose: Literal["standing", "leaning", "seated", "arms-raised"] = "standing"
    touches: tuple[Touch, ...]


class BodySite(Value):
    """A site of the wearer's body; the endpoint that it is when bare."""

    id: Id
    endpoint: Literal["mucosa", "skin"]


class Place(Value):
    """A thing of the place."""

    id: Id
    endpoint: Literal["place-clean"] | None = None


class HelperLatent(Sourced):
    """An unnoticed fault in what a helper wears."""

    id: Id
    from_: Id = Field(alias="from")
    to: Id


class Helper(Value):
    """A person beside the wearer: gloves and gown are expected to be reached, skin and clothing are endpoints."""

    id: Id
    faces: tuple[Id, ...]
    latent: tuple[HelperLatent, ...] = ()


class ExposureZone(Sourced):
    """What the room puts on faces of one zone, by presentation, and the convention it rests on."""

    id: Id
    dry: LoadClass
    wet: LoadClass
    counts_clean: Id | None = None
    without: LoadClass | None = None


class Convention(Sourced):
    """A published convention that can be switched off to see what flips."""

    id: Id
    wet_widens: bool = False


KnownClass = Literal["enveloped", "non-enveloped", "bacteria"]
VirusClass = Literal[KnownClass, "unknown"]
Family = Literal["haemorrhagic", "henipavirus", "respiratory", "rash", "unidentified"]


class Agent(Sourced):
    """A hygiene agent: what it is used on, what is touched first (nothing where it runs by itself), and its central
    log10 reduction."""

    id: Id
    on: tuple[Literal["gloves", "hands", "surfaces"], ...]
    touches_first: str | None = None
    # Files of before may name a figure for an unknown class; it counts only where it is the least of all.
    log10_gloves: dict[VirusClass, float] = {}
    log10_hands: dict[VirusClass, float] = {}
    log10_surfaces: dict[VirusClass, float] = {}
    range_log10: tuple[float, float]

    def figures(self, on: str) -> Mapping[VirusClass, float]:
        """The central reductions on gloves, hands or surfaces, by class."""
        return {"gloves": self.log10_gloves, "hands": self.log10_hands, "surfaces": self.log10_surfaces}[on]

    def log10(self, on: str, virus_class: VirusClass) -> float:
        """The central reduction; 0 where none is given, and the least of all classes where the class is unknown."""
        figures = self.figures(on)
        if virus_class != "unknown":
            return figures.get(virus_class, 0.0)
        return min(*(figures.get(one, 0.0) for one in get_args(KnownClass)), figures.get("unknown", math.inf))


class Hazard(Value):
    """An agent or a suspicion, with the facts that a plan and a follow-up need."""

    id: Id
    family: Family
    virus_class: Fact[VirusClass]
    routes: Fact[tuple[Literal["contact", "droplet", "airborne"], ...]]
    monitoring_days: Fact[int]
    threshold_celsius: Fact[float]
    waste_stream: Fact[Id]
    disinfection_class: Fact[Id]


class WasteStream(Sourced):
    """A stream into which a removed item goes."""

    id: Id
    container: Id


class Duration(Sourced):
    """How long a step takes, in seconds, from brisk to slow in `range`; compared between plans, never held to.

    act      `reading` is what comes on top of every step: read aloud, repeated, seen and marked
    for_     kinds of item; empty: whatever else the act is done on
    agents   only with these hygiene agents; empty: with the others
    """

    id: Id
    act: Act | Literal["reading"]
    for_: tuple[Id, ...] = Field(default=(), alias="for")
    agents: tuple[Id, ...] = ()
    seconds: int = Field(ge=0, le=7200)
    range: tuple[int, int]


class Jurisdiction(Value):
    """Whose rules hold: a country, the list for transport (which is none), or `unstated`, the marked default."""

    id: Id
    of: Literal["none", "country", "transport"]


WasteCategory = Literal["highest", "second", "cultures-only", "not-listed", "case-by-case"]


class WasteRule(Value):
    """How the waste of some hazards counts in one jurisdiction, by an edition, and the stream that it then goes into.

    stream    None where the rule names no stream (a list for transport)
    """

    id: Id
    jurisdiction: Id
    hazards: tuple[Id, ...] = Field(min_length=1)
    category: Fact[WasteCategory]
    stream: Fact[Id] | None = None


class ProtectionFactor(Sourced):
    """The factor that one jurisdiction assigns to a class of respirator. Never compared with that of another.

    kinds    kinds of item that can be of this class
    """

    id: Id
    device: Id
    jurisdiction: Id
    kinds: tuple[Id, ...] = Field(min_length=1)
    factor: int = Field(ge=1)
    year: int | None = None
    note: str | None = None


class Rule(Sourced):
    """A rule that guidance states, as a constraint that policy can switch.

    before, after   kinds of item: every one worn of `before` comes off earlier than every one worn of `after`
    glove_layer     which gloves `gloves` means there; none: all of them
    for_families    families of hazards that it is published for; empty: all
    """

    id: Id
    kind: Literal["order", "hygiene", "people", "grip", "place"]
    before: tuple[Id, ...] = ()
    after: tuple[Id, ...] = ()
    glove_layer: Literal["inner", "outer"] | None = None
    for_families: tuple[str, ...] = ()
    default_on: bool = True


class Requirement(Sourced):
    """What a case asks of the gear at some sites; it holds when the case matches every list that is given."""

    id: Id
    families: tuple[str, ...] = ()
    routes: tuple[Literal["contact", "droplet", "airborne"], ...] = ()
    presentations: tuple[Presentation, ...] = ()
    tasks: tuple[str, ...] = ()
    jurisdictions: tuple[Id, ...] = ()
    sites: tuple[Id, ...]
    need: Literal["covered", "sealed", "filters-air", "two-layers", "fluid-resistant", "impermeable"]
    route: Literal["contact", "droplet", "airborne"]


class DonningRule(Sourced):
    """Kinds that go on before other kinds; `gloves:inner` and the like name one glove layer."""

    id: Id
    before: tuple[str, ...]
    after: tuple[str, ...]


class Colleague(Sourced):
    """What the observer or the assistant wears, and what the work in the doffing area is taken to put on it.

    undresses        place in the order in which those beside the wearer undress, once the last wearer is out;
                     where two have the same, the assistant first
    wears            places, each filled by the first of its items at hand
    wears_airborne   places filled before these where the hazard goes through the air
    loads            load class by exposure zone; a zone that is not named stays clean
    seen_as          face of the helper in a wearer's sequence to the exposure zones that it stands for
    """

    id: Id
    role: Role
    for_families: tuple[str, ...] = ()
    undresses: int = Field(default=1, ge=1, le=9)
    wears: tuple[tuple[Id, ...], ...]
    wears_airborne: tuple[tuple[Id, ...], ...] = ()
    loads: dict[Id, LoadClass]
    seen_as: dict[Id, tuple[Id, ...]] = {}


class Turnaround(Sourced):
    """One thing done between two exits through a lane, as touches and cleanings in the touch language."""

    id: Id
    who: Role
    touches: tuple[str, ...]
