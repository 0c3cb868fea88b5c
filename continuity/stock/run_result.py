"""What came of a cast run, and what is to be said of it."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID

from continuity.shop.batch import Gel, OffRatio, Ratio, decimal_of, off_ratio
from continuity.stock.documents import CastRunDocument, CavityResult, Fault, MaterialDocument

FAULTS = {
    Fault.TORN_EDGE: "Torn edge",
    Fault.BUBBLE: "Bubble",
    Fault.TACKY: "Tacky",
    Fault.THICK_EDGE: "Thick edge",
    Fault.COLOUR: "Colour",
    Fault.OTHER: "Something else",
}


@dataclass(frozen=True)
class RunResult:
    """``good`` is None until the run has its result; ``lower_grade`` are among the good. ``rejected`` is a
    list of copies and why."""

    good: int | None
    lower_grade: int
    rejected: list[dict[str, Any]]


def result_of(run: CastRunDocument) -> RunResult:
    """By the cavities where they are written, by the numbers of the run otherwise."""
    if run.good is None or not run.cavities:
        return RunResult(run.good, 0, [rejected.model_dump() for rejected in run.rejected.values()])
    results = Counter(cavity.result for cavity in run.cavities.values())
    faults = Counter(
        cavity.why
        for cavity in run.cavities.values()
        if cavity.result is CavityResult.REJECTED and cavity.why
    )
    lower = results[CavityResult.LOWER_GRADE]
    return RunResult(
        good=results[CavityResult.GOOD] + lower,
        lower_grade=lower,
        rejected=[{"copies": faults[why], "why": FAULTS[why]} for why in sorted(faults)],
    )


@dataclass(frozen=True)
class RunWarning:
    """``key`` names what it is about and stays the same while it stands; ``code`` is its sort."""

    key: str
    code: str
    words: str
    overridden: bool = False


def run_warnings(
    run: CastRunDocument,
    *,
    ratio: Ratio | None,
    tolerance_percent: Decimal,
    cavities: int,
    materials: Mapping[UUID, MaterialDocument],
    without_amount: Sequence[UUID],
) -> list[dict[str, Any]]:
    """Everything about a run that somebody should look at. ``cavities`` are those of the mould;
    ``without_amount`` are lots of which nobody can say how much was used."""
    found = [
        *_of_pours(run, ratio, tolerance_percent),
        *_of_cavities(run, cavities),
        *_of_lots(run, materials),
        *(
            RunWarning(
                f"lot_amount_missing:{lot}",
                "lot_amount_missing",
                f"How much of {lot_in_words(materials[lot])} went in is not said.",
            )
            for lot in without_amount
        ),
    ]
    return [asdict(warning) for warning in found]


def _of_pours(run: CastRunDocument, ratio: Ratio | None, tolerance: Decimal) -> Iterator[RunWarning]:
    if ratio is None:
        return
    for number, (key, pour) in enumerate(sorted(run.pours.items()), start=1):
        if pour.a_grams is None:
            continue
        weighed = Gel(*(decimal_of(part or 0) for part in (pour.a_grams, pour.b_grams, pour.deadener_grams)))
        unweighed = {
            name for name, part in (("b", pour.b_grams), ("deadener", pour.deadener_grams)) if part is None
        }
        for off in off_ratio(weighed, ratio, tolerance):
            if off.part not in unweighed:
                yield RunWarning(
                    f"pour_off_ratio:{key}:{off.part}",
                    "pour_off_ratio",
                    off_ratio_in_words(number, off, tolerance),
                )


def off_ratio_in_words(number: int, off: OffRatio, tolerance: Decimal) -> str:
    """Such as "Mix 2: 8.4 g of B where A asks for 8.0 g, 5.0 % too much; 2 % are allowed." """
    name = "B" if off.part == "b" else "deadener"
    way = "too much" if off.weighed > off.wanted else "too little"
    return (
        f"Mix {number}: {off.weighed:.1f} g of {name} where A asks for {off.wanted:.1f} g, "
        f"{off.percent:.1f} % {way}; {float(tolerance):g} % are allowed."
    )


def _of_cavities(run: CastRunDocument, cavities: int) -> Iterator[RunWarning]:
    counted = Counter(cavity.cavity for cavity in run.cavities.values())
    for cavity, times in sorted(counted.items()):
        if times > 1:
            yield RunWarning(
                f"cavity_twice:{cavity}",
                "cavity_twice",
                f"Cavity {cavity} has {times} results: which one is it?",
            )
        if cavity > cavities:
            yield RunWarning(
                f"cavity_unknown:{cavity}",
                "cavity_unknown",
                f"The mould has no cavity {cavity}, only {cavities}.",
            )
    result = result_of(run)
    if run.cavities and run.good is not None and run.good != result.good:
        yield RunWarning(
            "good_is_not_the_cavities",
            "good_is_not_the_cavities",
            f"{run.good} good were written, and by the cavities there are {result.good}: the cavities count.",
        )


def _of_lots(run: CastRunDocument, materials: Mapping[UUID, MaterialDocument]) -> Iterator[RunWarning]:
    for lot in dict.fromkeys(lot.material for lot in run.lots.values()):
        material = materials[lot]
        until = keeps_until(material)
        if until is not None and run.cast_on > until:
            yield RunWarning(
                f"lot_past_its_date:{lot}",
                "lot_past_its_date",
                f"{lot_in_words(material)} was past its date on the day of casting: it kept until "
                f"{until.day} {until:%B %Y}.",
            )


def keeps_until(material: MaterialDocument) -> datetime.date | None:
    """The last day a lot is good on: its date, or the end of its life once opened, whichever is first."""
    dates = [material.expires_on] if material.expires_on else []
    if material.opened_on and material.opened_life_days:
        dates.append(material.opened_on + datetime.timedelta(days=material.opened_life_days))
    return min(dates, default=None)


def lot_in_words(material: MaterialDocument) -> str:
    """Such as "Gel, part A, lot G-12"."""
    return f"{material.name}, lot {material.lot}" if material.lot else material.name
