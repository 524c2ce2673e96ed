"""From requirements, policy and the kinds at hand to an ensemble in donning order, with a reason for each item."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from vestry.sequence.case import Case
from vestry.sequence.errors import NoPlan
from vestry.sequence.plan import EnsembleItem, Reason
from vestry.sequence.policy import Policy
from vestry.sequence.requirements import meets, requirements_of, unmet
from vestry.trade import Catalogue
from vestry.trade.values import DonningRule, Requirement


def ensemble_of(case: Case, policy: Policy, catalogue: Catalogue) -> tuple[EnsembleItem, ...]:
    """The ensemble for a case, in donning order. NoPlan when the gear at hand leaves a site open."""
    needs = requirements_of(case, catalogue, policy.jurisdiction)
    chosen = chosen_items(case, policy, catalogue, needs)
    worn = worn_in_order(tuple(chosen), needs, catalogue)
    return tuple(EnsembleItem(item=item, reasons=_reasons(item, worn, chosen[item], needs, catalogue)) for item in worn)


def chosen_items(case: Case, policy: Policy, catalogue: Catalogue, needs: tuple[Requirement, ...]) -> Mapping[str, str]:
    """The items chosen for these requirements, each with the reason why it was."""
    return _Chooser(case, policy, catalogue, needs).choose()


def worn_in_order(items: tuple[str, ...], needs: tuple[Requirement, ...], catalogue: Catalogue) -> tuple[str, ...]:
    """The items in donning order. NoPlan when they leave a site open."""
    worn = donning_order(items, catalogue)
    missing = unmet(catalogue, worn, needs)
    if missing:
        raise NoPlan(missing)
    return worn


class _Chooser:
    """Fills the places of an ensemble one after the other; every choice notes its policy reason."""

    def __init__(self, case: Case, policy: Policy, catalogue: Catalogue, needs: tuple[Requirement, ...]) -> None:
        self.case, self.policy, self.catalogue, self.needs = case, policy, catalogue, needs
        self.hand = set(case.gear) or set(catalogue.items)
        self.chosen: dict[str, str] = {}

    def choose(self) -> dict[str, str]:
        self._first("worn-to-work", ["scrubs"], needed=False)
        self._first("worn-to-work", ["washable-shoes", "washable-boots"], needed=False)
        self._feet()
        self._garment()
        self._gloves()
        self._airways()
        self._eyes_and_head()
        if self.policy.with_apron:
            self._first("policy-apron", ["apron"], needed=False)
        return self.chosen

    def _first(self, why: str, wanted: list[str], needed: bool = True) -> str | None:
        for item in wanted:
            if item in self.hand:
                self.chosen[item] = why
                return item
        return None

    def _asked(self, need: str, site: str) -> bool:
        """Whether a requirement of this case asks for this at a site."""
        return any(one.need == need and site in one.sites for one in self.needs)

    def _feet(self) -> None:
        if "washable-boots" in self.chosen:
            return
        high, low = "boot-covers-high", "foot-covers-low"
        if self._asked("sealed", "shins"):
            self._first("requirement", [high])
        elif self.policy.with_foot_covers:
            order = [high, low] if self.policy.foot_covers == "high" else [low, high]
            self._first("policy-foot-covers", order, needed=False)

    def _garment(self) -> None:
        suit = "coverall-hooded" if self.policy.hooded_coverall else "coverall-impermeable"
        gowns = ["gown-isolation", "gown-fluid-resistant", "gown-impermeable"]
        suits = ["coverall-fluid-resistant", suit, "coverall-impermeable", "coverall-hooded"]
        if self._asked("impermeable", "torso"):
            gowns, suits = ["gown-impermeable"], [suit, "coverall-impermeable", "coverall-hooded"]
        elif self._asked("fluid-resistant", "torso"):
            gowns = ["gown-fluid-resistant", "gown-impermeable"]
        self._first("policy-garment", suits + gowns if self.policy.garment == "coverall" else gowns + suits)

    def _gloves(self) -> None:
        if self._asked("two-layers", "hand-l"):
            self._first("requirement", ["inner-gloves-long", "inner-gloves-standard"])
            self._first("requirement", ["outer-gloves-long"])
        else:
            self._first("requirement", ["gloves-long", "gloves-standard"])

    def _airways(self) -> None:
        filtering = any(need.need == "filters-air" for need in self.needs)
        powered: dict[str, Callable[[], bool]] = {
            "belt-blower": self._belt_blower,
            "helmet-blower": self._helmet_blower,
        }
        if self.policy.respirator in powered and powered[self.policy.respirator]():
            return
        if not filtering and self._mask_will_do() and self._first("policy-mask", ["surgical-mask"]):
            return
        if self._first("policy-respirator", ["respirator-disposable"]):
            return
        if self._belt_blower() or self._helmet_blower():
            return
        # Nothing filters. A mask still keeps splash off: what is told as missing is then the filter alone.
        self._first("requirement", ["surgical-mask"])

    def _mask_will_do(self) -> bool:
        """A mask only for a stable person suspected of haemorrhagic fever, where the unit's policy says so."""
        family = self.catalogue.hazards[self.case.hazard].family
        return family == "haemorrhagic" and self.case.presentation == "dry" and self.policy.mask_for_stable_haemorrhagic

    def _belt_blower(self) -> bool:
        parts = ("papr-belt-unit", "papr-hood", "papr-hose")
        return self._together("policy-respirator", parts)

    def _helmet_blower(self) -> bool:
        return self._together("policy-respirator", ("papr-helmet", "papr-shroud"))

    def _together(self, why: str, parts: tuple[str, ...]) -> bool:
        if not all(part in self.hand for part in parts):
            return False
        self.chosen.update(dict.fromkeys(parts, why))
        return True

    def _eyes_and_head(self) -> None:
        powered = any(item in self.chosen for item in ("papr-hood", "papr-helmet"))
        if not powered:
            order = ["face-shield", "goggles"] if self.policy.eye_protection == "shield" else ["goggles", "face-shield"]
            self._first("policy-eye-protection", order)
        hooded = "coverall-hooded" in self.chosen
        if self._asked("sealed", "neck") and not powered and not hooded:
            self._first("requirement", ["surgical-hood"])
        elif self.policy.with_hood and not powered and not hooded:
            self._first("policy-hood", ["surgical-hood"], needed=False)
        elif self.policy.with_hair_cover and not powered and not hooded:
            self._first("policy-hair-cover", ["hair-cover"], needed=False)


def _reasons(
    item: str, worn: tuple[str, ...], why: str, needs: tuple[Requirement, ...], catalogue: Catalogue
) -> tuple[Reason, ...]:
    """The requirements that fail without the item, else the policy choice."""
    without = tuple(one for one in worn if one != item)
    found = [
        Reason(why=need.id, source=need.source)
        for need in needs
        if any(not meets(catalogue, without, need, site) for site in need.sites)
    ]
    if not found or why.startswith("policy"):
        found.append(Reason(why=why if why != "requirement" else "goes-with-the-others", source="hospital"))
    return tuple(found)


def donning_order(items: tuple[str, ...], catalogue: Catalogue) -> tuple[str, ...]:
    """Items sorted so that every donning rule holds; ties in catalogue order."""
    left = sorted(items, key=list(catalogue.items).index)
    ordered: list[str] = []
    while left:
        ready = next(
            (item for item in left if not any(_before(other, item, catalogue) for other in left if other != item)), None
        )
        if ready is None:
            raise ValueError(f"the donning rules go round in a circle among {', '.join(left)}")
        ordered.append(ready)
        left.remove(ready)
    return tuple(ordered)


def _before(first: str, then: str, catalogue: Catalogue) -> bool:
    return any(
        _named(first, rule.before, catalogue) and _named(then, rule.after, catalogue) for rule in catalogue.donning
    )


def _named(item: str, kinds: tuple[str, ...], catalogue: Catalogue) -> bool:
    record = catalogue.items[item]
    return record.kind in kinds or f"{record.kind}:{record.layer}" in kinds


def donning_rules_broken(worn: tuple[str, ...], catalogue: Catalogue) -> tuple[tuple[str, str, DonningRule], ...]:
    """Pairs put on the other way round than a donning rule says."""
    broken = []
    for index, item in enumerate(worn):
        for later in worn[index + 1 :]:
            for rule in catalogue.donning:
                if _named(later, rule.before, catalogue) and _named(item, rule.after, catalogue):
                    broken.append((later, item, rule))
    return tuple(broken)
