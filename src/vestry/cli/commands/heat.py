"""Heat: predicted strain (ISO 7933), the heat index (ISO 7243), and what was measured on people in suits.

`predict` gives minutes only inside the ranges of the model, and never more than the unit's policy allows; `index`
screens and gives no minutes. Exit status: 0 predicted, or the index is not above its reference value; 1 the model does
not hold, the index is above, or there is nothing to compare it with; 2 wrong use or bad input.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from fractions import Fraction

from vestry.cli import output
from vestry.cli.answers import (
    AddedAnswer,
    AllowedAnswer,
    FamilyAnswer,
    FieldAnswer,
    HeldAnswer,
    IndexAnswer,
    MeasuredAnswer,
    PredictAnswer,
    PredictedAnswer,
    ReachedAnswer,
    ReasonAnswer,
    cited,
    plain,
)
from vestry.cli.asking_rooms import Asked, operations_argument, operations_of, print_answer, told_source
from vestry.heat import (
    Conditions,
    IndexRefused,
    Limit,
    Outside,
    Predicted,
    Reason,
    Screened,
    allowed,
    measured,
    predict,
    screen,
    shortenings,
    wbgt,
)
from vestry.heat.index import work_class
from vestry.heat.strain import BODY_KG, MINUTES, W_M2_IN_MET
from vestry.trade.operations import Operations
from vestry.trade.operations_values import ModelRange
from vestry.trade.quantities import celsius, number
from vestry.trade.words import Words, load_words

BODY = Fraction("1.938")  # square metres of a body of 75 kg and 1.80 m
NEEDED = (("air",), ("humidity", "vapour"), ("speed",), ("clo",), ("metabolic", "met", "watts"))
"""What a prediction cannot be made without: of each row one."""
ONLY: dict[str, tuple[str, ...]] = {
    "predict": (
        "air", "radiant", "humidity", "vapour", "speed", "clo", "permeability", "reflective", "emissivity", "minutes",
        "policy", "posture", "edition", "impermeable",
    ),
    "index": ("natural_wet", "globe", "sun_air", "wbgt", "work", "garment", "hood"),
    "measured": (),
}  # fmt: skip


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("what", choices=tuple(ONLY), help="predicted strain, the heat index, or what was measured")
    strain = parser.add_argument_group("predict")
    strain.add_argument("--air", metavar="TEMPERATURE", help="of the air: 34, 93 F")
    strain.add_argument("--radiant", metavar="TEMPERATURE", help="mean radiant temperature (as the air)")
    strain.add_argument("--humidity", metavar="PERCENT", help="relative humidity; or --vapour")
    strain.add_argument("--vapour", metavar="KPA", help="vapour pressure")
    strain.add_argument("--speed", metavar="M/S", help="of the air")
    strain.add_argument("--clo", metavar="NUMBER", help="insulation of the clothing; at most 1.0")
    strain.add_argument("--permeability", metavar="NUMBER", help="moisture permeability index (0.38, woven)")
    strain.add_argument("--impermeable", action="store_true", help="a suit that lets no vapour through")
    strain.add_argument("--posture", choices=("standing", "sitting", "crouching"))
    strain.add_argument("--reflective", metavar="SHARE", help="share of the body under reflecting cloth (0)")
    strain.add_argument("--emissivity", metavar="NUMBER", help="of that cloth")
    strain.add_argument("--edition", choices=("2004", "2023"), help="of ISO 7933 (2023)")
    strain.add_argument("--minutes", metavar="NUMBER", help=f"how far to reckon (at most {MINUTES})")
    strain.add_argument("--policy", metavar="MINUTES", help="the unit's limit: says what the entry's clock is")
    index = parser.add_argument_group("index")
    index.add_argument("--natural-wet", "--tnwb", metavar="TEMPERATURE", help="natural wet bulb temperature")
    index.add_argument("--globe", "--tg", metavar="TEMPERATURE", help="globe temperature")
    index.add_argument("--sun-air", "--ta", metavar="TEMPERATURE", help="in the sun: the air temperature besides")
    index.add_argument("--wbgt", metavar="TEMPERATURE", help="the index itself, instead of the three")
    index.add_argument("--work", choices=("0", "1", "2", "3", "4"), help="0 resting, 2 moderate (default), 4 very high")
    index.add_argument("--garment", metavar="ID", help="what is worn (work-clothes)")
    index.add_argument("--hood", action="store_true", help="a separate hood besides")
    both = parser.add_argument_group("both")
    both.add_argument("--metabolic", metavar="W/M2", help="metabolic rate; or --met, or --watts")
    both.add_argument("--met", metavar="NUMBER")
    both.add_argument("--watts", metavar="NUMBER", help="of a body of 1.938 square metres")
    both.add_argument("--acclimatised", action="store_true", help="used to heat; hospital staff are not")
    operations_argument(parser)


def run(options: argparse.Namespace) -> int:
    """Ask, and print."""
    operations, words = operations_of(options), load_words("en")
    asked = Asked("heat")
    for other, names in ONLY.items():
        for name in names:
            if other != options.what and getattr(options, name):
                asked.wrong(name.replace("_", "-"), f"belongs to `vestry heat {other}`")
    asked.done()
    if options.what == "predict":
        return _predict(options, operations, words, asked)
    if options.what == "index":
        return _index(options, operations, words, asked)
    answer = MeasuredAnswer(
        operations=operations.digest,
        measured=_measured(operations),
        says=(words.term("heat", "policy-rules"), words.term("heat", "stop")),
    )
    print_answer(answer, [*_told_measured(answer.measured, words), "", *answer.says], options, words)
    return 0


def _metabolic(options: argparse.Namespace, asked: Asked) -> Fraction | None:
    given = {name: asked.read(getattr(options, name), name, number) for name in ("metabolic", "met", "watts")}
    typed = [name for name in given if getattr(options, name) is not None]
    if len(typed) > 1:
        asked.wrong(typed[1], f"beside --{typed[0]}: the same thing twice")
    factors = {"metabolic": Fraction(1), "met": Fraction(str(W_M2_IN_MET)), "watts": 1 / BODY}
    return next((value * factors[name] for name, value in given.items() if value is not None), None)


# ---- predicted strain ----


def _predict(options: argparse.Namespace, operations: Operations, words: Words, asked: Asked) -> int:
    conditions, policy = _conditions(options, asked)
    predicted, reasons = None, tuple[Reason, ...]()
    try:
        predicted = predict(conditions, operations)
    except Outside as outside:
        reasons = outside.reasons
    answer = _predict_answer(conditions, predicted, reasons, policy, operations, words)
    print_answer(answer, _told_prediction(answer, words), options, words)
    return 0 if predicted is not None else 1


def _conditions(options: argparse.Namespace, asked: Asked) -> tuple[Conditions, int | None]:
    wanted = {"air": celsius, "radiant": celsius} | dict.fromkeys(
        ("humidity", "vapour", "speed", "clo", "permeability", "reflective", "emissivity", "minutes", "policy"), number
    )
    read = {name: asked.read(getattr(options, name), name, reader) for name, reader in wanted.items()}
    metabolic = _metabolic(options, asked)
    for names in NEEDED:
        if all(getattr(options, one) is None for one in names):
            asked.wrong(names[0], f"is needed for a prediction: {' or '.join(f'--{one}' for one in names)}")
    for name, value in (("minutes", read["minutes"]), ("policy", read["policy"])):
        if value is not None and (value.denominator != 1 or not 1 <= value <= MINUTES):
            asked.wrong(name, f"whole minutes from 1 to {MINUTES}")
    asked.done()
    numbers = {name: plain(value) for name, value in read.items()}
    permeability, reflective = numbers["permeability"], numbers["reflective"]
    conditions = Conditions(
        air=numbers["air"] or 0.0,
        radiant=numbers["radiant"],
        humidity=numbers["humidity"],
        vapour=numbers["vapour"],
        speed=numbers["speed"] or 0.0,
        metabolic=float(metabolic or 0),
        clothing=numbers["clo"] or 0.0,
        posture=options.posture or "standing",
        acclimatised=options.acclimatised,
        permeability=0.38 if permeability is None else permeability,
        impermeable=options.impermeable,
        reflective=reflective or 0.0,
        emissivity=numbers["emissivity"],
        edition=f"iso-7933-{options.edition or '2023'}",  # type: ignore[arg-type]
        minutes=int(read["minutes"] or MINUTES),
    )
    return conditions, None if read["policy"] is None else int(read["policy"])


def _predict_answer(
    conditions: Conditions,
    predicted: Predicted | None,
    reasons: tuple[Reason, ...],
    policy: int | None,
    operations: Operations,
    words: Words,
) -> PredictAnswer:
    clock = None if policy is None else allowed(policy, shortenings(predicted) if predicted else ())
    says = ["outside"] if predicted is None else ["beyond"] if predicted.core.minutes is not None else []
    source = next(one for one in operations.all(ModelRange) if one.model == conditions.edition)
    return PredictAnswer(
        operations=operations.digest,
        edition=conditions.edition,
        predicted=None if predicted is None else _predicted(predicted),
        reasons=tuple(
            ReasonAnswer(what=one.what, quantity=one.quantity, value=one.value, low=one.low, high=one.high)
            for one in reasons
        ),
        allowed=None if clock is None else AllowedAnswer(minutes=clock.minutes, by=clock.by, policy=clock.policy),
        measured=_measured(operations) if predicted is None else (),
        says=tuple(words.term("heat", key) for key in (*says, "policy-rules", "stop")),
        cited=cited(source, operations),
    )


def _predicted(one: Predicted) -> PredictedAnswer:
    return PredictedAnswer(
        core=_reached(one.core),
        loss_half=_reached(one.loss_half),
        loss_most=_reached(one.loss_most),
        rectal_at_end=one.rectal_at_end,
        core_at_end=one.core_at_end,
        sweat_grams=one.sweat_grams,
        minutes_reckoned=one.conditions.minutes,
    )


def _reached(limit: Limit) -> ReachedAnswer:
    return ReachedAnswer(reached=limit.minutes is not None, minutes=limit.minutes)


def _told_prediction(answer: PredictAnswer, words: Words) -> Iterator[str]:
    if answer.predicted:
        rows = [
            (words.term("heat-limit", name), f"{limit.minutes} min" if limit.reached else _not_reached(answer, words))
            for name, limit in (
                ("core", answer.predicted.core),
                ("loss-half", answer.predicted.loss_half),
                ("loss-most", answer.predicted.loss_most),
            )
        ]
        yield output.table(rows, ("limit", "reached after"))
        yield (
            f"After {answer.predicted.minutes_reckoned} min: core {answer.predicted.core_at_end:.1f} °C, "
            f"sweat {answer.predicted.sweat_grams:,.0f} g, for a body of {BODY_KG} kg"
        )
    for reason in answer.reasons:
        between = "" if reason.low is None else f" ({reason.value:.4g}; {reason.low:g} to {reason.high:g})"
        yield f"{words.term('heat-quantity', reason.quantity)}: {words.term('heat-reason', reason.what)}{between}"
    if answer.measured:
        yield from _told_measured(answer.measured, words)
    if answer.allowed:
        by = words.term("heat-limit", answer.allowed.by)
        yield f"The entry's clock: {answer.allowed.minutes} min, by {by} (policy {answer.allowed.policy} min)"
    yield ""
    for says in answer.says:
        yield output.paragraph(says)
    yield output.paragraph(f"{answer.cited.title}. {told_source(answer.cited, words)}")


def _not_reached(answer: PredictAnswer, words: Words) -> str:
    assert answer.predicted is not None, "asked for a prediction that is there"
    return f"{words.term('heat', 'not-reached')} within {answer.predicted.minutes_reckoned} min"


# ---- the heat index ----


def _index(options: argparse.Namespace, operations: Operations, words: Words, asked: Asked) -> int:
    read = {
        name: asked.read(getattr(options, name), name.replace("_", "-"), celsius)
        for name in ("natural_wet", "globe", "sun_air", "wbgt")
    }
    rate = _metabolic(options, asked)
    parts = [name for name in ("natural_wet", "globe") if getattr(options, name) is not None]
    if options.wbgt is not None and (parts or options.sun_air is not None):
        asked.wrong("wbgt", "give the index, or the temperatures it is reckoned from")
    elif options.wbgt is None and len(parts) < 2:
        asked.wrong("wbgt", "is needed: --wbgt, or --natural-wet and --globe")
    if rate is not None and options.work is not None:
        asked.wrong("work", "give the class of work, or the metabolic rate")
    asked.done()
    try:
        index = read["wbgt"]
        if index is None:
            wet, globe = read["natural_wet"], read["globe"]
            assert wet is not None, "asked for above"
            assert globe is not None, "asked for above"
            index = wbgt(wet, globe, read["sun_air"])
        work = work_class(rate, operations) if rate is not None else int(options.work or 2)
        found = screen(
            index,
            work,
            operations,
            garment=options.garment or "work-clothes",
            hood=options.hood,
            acclimatised=options.acclimatised,
        )
    except IndexRefused as bad:
        asked.wrong(bad.field, bad.what)
        asked.done()
        raise
    answer = _index_answer(found, work, options, operations, words)
    print_answer(answer, _told_index(answer, words), options, words)
    return 0 if found.over is False else 1


def _index_answer(
    found: Screened, work: int, options: argparse.Namespace, operations: Operations, words: Words
) -> IndexAnswer:
    return IndexAnswer(
        operations=operations.digest,
        wbgt=float(found.index),
        work=work,
        garment=options.garment or "work-clothes",
        hood=options.hood,
        acclimatised=options.acclimatised,
        families=tuple(
            FamilyAnswer(
                family=row.family,
                added=tuple(
                    AddedAnswer(garment=one.garment, celsius=one.celsius, cited=cited(one, operations))
                    for one in row.added
                ),
                effective=float(row.effective),
                limits=tuple(
                    HeldAnswer(
                        celsius=one.limit.celsius,
                        air=one.limit.air,
                        over=one.over,
                        cited=cited(one.limit, operations),
                    )
                    for one in row.limits
                ),
            )
            for row in found.rows
        ),
        over=found.over,
        says=tuple(words.term("heat", key) for key in ("screening", "policy-rules", "stop")),
    )


def _told_index(answer: IndexAnswer, words: Words) -> Iterator[str]:
    hood = f" with {words.term('garment', 'hood')}" if answer.hood else ""
    yield f"WBGT {answer.wbgt:.4g} °C; {words.term('garment', answer.garment)}{hood}"
    yield (
        f"Work: {words.term('work-class', str(answer.work))}; {'used' if answer.acclimatised else 'not used'} to heat"
    )
    for row in answer.families:
        yield ""
        added = " + ".join(f"{one.celsius:g}" for one in row.added)
        yield f"{words.term('heat-family', row.family)}: {answer.wbgt:.4g} + {added or '0'} = {row.effective:.4g} °C"
        for one in row.added:
            yield output.paragraph(f"{words.term('garment', one.garment)}: {told_source(one.cited, words)}", "  ")
        if not row.limits:
            yield f"  {words.term('heat', 'not-compared')}"
        for held in row.limits:
            air = "" if held.air == "any" else f", {held.air} air"
            verdict = words.term("heat", "over" if held.over else "within")
            yield output.paragraph(f"{held.celsius:g} °C{air}: {verdict} ({told_source(held.cited, words)})", "  ")
    yield ""
    for says in answer.says:
        yield output.paragraph(says)


# ---- what was measured ----


def _measured(operations: Operations) -> tuple[FieldAnswer, ...]:
    return tuple(
        FieldAnswer(
            what=one.what,
            celsius=one.celsius,
            humidity=one.humidity,
            minutes=one.minutes,
            sd=one.sd,
            most_minutes=one.most_minutes,
            rise=one.rise,
            reached=one.reached,
            of=one.of,
            reached_celsius=one.reached_celsius,
            cited=cited(one, operations),
        )
        for one in measured(operations)
    )


def _told_measured(found: tuple[FieldAnswer, ...], words: Words) -> Iterator[str]:
    yield words.term("heat", "measured-instead")
    for one in found:
        at = f" at {one.celsius:g} °C and {one.humidity:g} %" if one.celsius and one.humidity else ""
        time = f", {one.minutes:g} min" if one.minutes else ""
        time += f" (SD {one.sd:g})" if one.sd else ""
        time += f", at most {one.most_minutes:g} min" if one.most_minutes else ""
        rise = f", core up {one.rise:g} °C" if one.rise else ""
        reached = f", {one.reached} of {one.of} reached {one.reached_celsius:g} °C" if one.reached_celsius else ""
        told = f"{words.term('field-heat', one.what)}{at}{time}{rise}{reached} ({told_source(one.cited, words)})"
        yield output.paragraph(told, "  ")
