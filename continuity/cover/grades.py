"""The cover of one appliance whose looks ask for copies of several grades, served together.

A look asks for a grade and takes a copy of that grade or, when there is none, of the next higher one; within
a grade the first expired first. On one day the looks of a higher grade come first. A hero copy that stands in
for a background one is then missing for the hero looks to come, so the grades cannot be worked out apart: the
walk follows the copies of all grades at once, with one success rate for all (the grade is how well the copy
came out, not how well it goes on).

Without shelf dates no rule serves better. Up to any day the background looks have used so many copies, and
whatever the rule, those beyond the background copies that had come by some day up to then must have been of a
higher grade. The rule used takes exactly the greatest such excess and not one more, so it leaves at least as
many copies of the higher grades as any other; the same holds for each grade in turn. With shelf dates no
fixed rule is the best: a background copy that comes earlier may be put on where a hero copy would have done
that then passes its date. The cover is that of the rule. A copy more still never lowers it, nor does a hero
copy without a date that comes earlier.

States less likely than `NEGLIGIBLE`, and those that a table has no room for, are given up and counted as
short. Being short can only be overcounted that way, so `p_covered` is a lower bound on the cover, and
`p_covered + left_out` an upper one: the probability given up is either short or not. `exact` says whether
`left_out` is below `EXACT`, which it is in all but monstrous plans.
"""

from __future__ import annotations

import datetime
from bisect import bisect_right
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from continuity.cover.calculation import left_by_day
from continuity.cover.consumption import Beta, UsageLog, posterior
from continuity.cover.plan import (
    MOST_FOLLOWED,
    Arrival,
    DatedCopies,
    InvalidPlan,
    Plan,
    PlannedDay,
    allowed_to_be_short,
    check_plan,
)
from continuity.cover.walk import Step, Walk
from continuity.stock.grade import Grade, grade_serves

NEGLIGIBLE = 1e-15
EXACT = 1e-9

_DAY = datetime.timedelta(days=1)
HIGHEST_FIRST = (Grade.HERO, Grade.MID, Grade.BACKGROUND)


@dataclass(frozen=True)
class GradedCopies:
    """`copies` (0 or more) of a grade, on set from `date` on (None: now), up to and on `use_by` if there is
    one.
    """

    grade: Grade
    copies: int
    date: datetime.date | None = None
    use_by: datetime.date | None = None


@dataclass(frozen=True)
class GradedDay:
    """A shoot day and the good copies (0 or more) that its looks ask for, by grade."""

    date: datetime.date
    copies_needed: Mapping[Grade, int]


@dataclass(frozen=True)
class GradedPlan:
    """As `Plan`, with grades: the supply on set and to come, and the days in strictly increasing order."""

    target: float
    prior: Beta
    log: UsageLog
    supply: tuple[GradedCopies, ...]
    days: tuple[GradedDay, ...]


@dataclass(frozen=True)
class GradedDayCover:
    """The state at the end of one shoot day.

    The three counts are of all grades together, as in `calculation.DayCover`, as if any copy served any look.
    `p_short_by`: probability that some look has gone without a copy by then.
    `p_short_by_grade`: the same, parted by the grade of the look that was the first to go without.
    """

    date: datetime.date
    expected_left: float | None
    left_p10: int | None
    left_p90: int | None
    p_short_by: float
    p_short_by_grade: Mapping[Grade, float] = field(hash=False)


@dataclass(frozen=True)
class GradedCover:
    """As `calculation.Cover`. `exact`: whether the probabilities are, or `p_covered` is a lower bound that is
    at most `left_out` too low.
    """

    days: tuple[GradedDayCover, ...]
    p_covered: float
    first_day_at_risk: datetime.date | None
    exact: bool
    left_out: float


def work_out_graded_cover(plan: GradedPlan) -> GradedCover:
    """The cover of all grades of one appliance together. Raises InvalidPlan, naming the field."""
    lefts = left_by_day(together(plan))
    walk, by_day, p_covered = _walked(plan)
    days = tuple(
        GradedDayCover(
            date=day.date,
            expected_left=expected_left,
            left_p10=left_p10,
            left_p90=left_p90,
            p_short_by=p_short_by,
            p_short_by_grade=by_grade,
        )
        for day, (expected_left, left_p10, left_p90), (p_short_by, by_grade) in zip(
            plan.days, lefts, by_day, strict=True
        )
    )
    allowed = allowed_to_be_short(plan.target)
    return GradedCover(
        days=days,
        p_covered=p_covered,
        first_day_at_risk=next((day.date for day in days if day.p_short_by > allowed), None),
        exact=walk.left_out <= EXACT,
        left_out=walk.left_out,
    )


def graded_chance_of_being_short(plan: GradedPlan, stop_above: float = 1.0) -> tuple[list[float], float]:
    """As `calculation.chance_of_being_short`: what a search asks for again and again."""
    check_plan(together(plan))
    _, by_day, p_covered = _walked(plan, stop_above, by_grade=False)
    return [p_short_by for p_short_by, _ in by_day], p_covered


def _walked(
    plan: GradedPlan, stop_above: float = 1.0, *, by_grade: bool = True
) -> tuple[Walk, list[tuple[float, dict[Grade, float]]], float]:
    """The walk at its end, `p_short_by` of each day whole and by grade, and the cover. Nothing after the day
    that passes `stop_above`. If what is by grade is not wanted, the looks of a day come in the order that
    takes the least time.
    """
    walk, steps = _walk(plan, highest_first=by_grade)
    by_day: list[tuple[float, dict[Grade, float]]] = []
    short = dict.fromkeys(HIGHEST_FIRST, 0.0)
    for of_day in steps:
        for grade, step in of_day:
            walk.enter(step)
            short[grade] += walk.serve(step)
        by_day.append(
            (
                min(1.0, sum(short.values()) + walk.left_out),
                {grade: chance for grade, chance in short.items() if chance},
            )
        )
        if by_day[-1][0] > stop_above:
            by_day += by_day[-1:] * (len(steps) - len(by_day))
            return walk, by_day, 1.0 - by_day[-1][0]
    last = by_day[-1][0] if by_day else 0.0
    return walk, by_day, 1.0 - last if last <= 0.5 else min(1.0, float(walk.left()[1].sum()))


def graded_in_blocks(plan: GradedPlan) -> GradedPlan:
    """As `plan.in_blocks`. While nothing comes or expires, what is left at the end depends only on how many
    copies the looks of each grade have used, and so does whether some look went without: not on which of
    them came first.
    """
    apart = {lot.date for lot in plan.supply if lot.date is not None}
    apart |= {lot.use_by + _DAY for lot in plan.supply if lot.use_by and lot.use_by < datetime.date.max}
    following = sorted(apart)
    blocks: list[GradedDay] = []
    block: int | None = None
    for day in plan.days:
        here = bisect_right(following, day.date)
        if here == block:
            needed = Counter(blocks.pop().copies_needed)
            needed.update(day.copies_needed)
            day = GradedDay(day.date, dict(needed))
        blocks.append(day)
        block = here
    return replace(plan, days=tuple(blocks))


def together(plan: GradedPlan) -> Plan:
    """The plan with the grades forgotten. Raises InvalidPlan for what grades add."""
    for i, lot in enumerate(plan.supply):
        if lot.copies < 0:
            raise InvalidPlan(f"supply[{i}].copies", "must be 0 or more")
    for i, day in enumerate(plan.days):
        if any(copies < 0 for copies in day.copies_needed.values()):
            raise InvalidPlan(f"days[{i}].copies_needed", "must be 0 or more")
    if sum(lot.copies for lot in plan.supply) > MOST_FOLLOWED:
        raise InvalidPlan("supply", f"must be {MOST_FOLLOWED} copies or fewer in all")
    if sum(sum(day.copies_needed.values()) for day in plan.days) > MOST_FOLLOWED:
        raise InvalidPlan("days", f"must not need more than {MOST_FOLLOWED} copies in all")
    here = [lot for lot in plan.supply if lot.date is None]
    return Plan(
        target=plan.target,
        prior=plan.prior,
        log=plan.log,
        on_set=sum(lot.copies for lot in here if lot.use_by is None),
        arrivals=tuple(
            Arrival(lot.date, lot.copies, lot.use_by) for lot in plan.supply if lot.date is not None
        ),
        days=tuple(PlannedDay(day.date, sum(day.copies_needed.values())) for day in plan.days),
        dated=tuple(DatedCopies(lot.copies, lot.use_by) for lot in here if lot.use_by is not None),
    )


def _walk(plan: GradedPlan, *, highest_first: bool) -> tuple[Walk, list[list[tuple[Grade, Step]]]]:
    """The walk and its steps. A class of copies is a grade with a shelf date."""
    last = plan.days[-1].date if plan.days else datetime.date.min

    def class_of(lot: GradedCopies) -> tuple[Grade, datetime.date]:
        never = lot.use_by is None or lot.use_by >= last
        return lot.grade, datetime.date.max if never or lot.use_by is None else lot.use_by

    # Hero is always among them, so that every look has something to ask for.
    classes = sorted({class_of(lot) for lot in plan.supply} | {(Grade.HERO, datetime.date.max)})
    at = {each: i for i, each in enumerate(classes)}
    orders = {
        wanted: tuple(
            i
            for grade in reversed(HIGHEST_FIRST)
            if grade_serves(grade, wanted)
            for i, (of_grade, _) in enumerate(classes)
            if of_grade == grade
        )
        for wanted in HIGHEST_FIRST
    }
    steps: list[list[tuple[Grade, Step]]] = []
    before: datetime.date | None = None
    last_grade = Grade.HERO
    for day in plan.days:
        come: Counter[int] = Counter()
        for lot in plan.supply:
            is_here = lot.date is None or lot.date <= day.date
            was_here = before is not None and (lot.date is None or lot.date <= before)
            if is_here and not was_here and not (lot.use_by and lot.use_by < day.date):
                come[at[class_of(lot)]] += lot.copies
        expired = tuple(
            i
            for i, (_, use_by) in enumerate(classes)
            if use_by < day.date and not (before and use_by < before)
        )
        arrivals = tuple(sorted((into, copies) for into, copies in come.items() if copies))
        wanted = [grade for grade in HIGHEST_FIRST if day.copies_needed.get(grade)]
        if not highest_first and last_grade in wanted:
            # Beginning with the order of classes in which the day before ended spares the walk a turn.
            wanted.sort(key=lambda grade: grade != last_grade)
        of_day = []
        for grade in wanted or [Grade.HERO] * bool(expired or arrivals):
            step = Step(day.copies_needed.get(grade, 0), orders[grade], (), expired, arrivals)
            of_day.append((grade, step))
            expired, arrivals = (), ()
            last_grade = grade
        steps.append(of_day)
        before = day.date
    walk = Walk(
        belief=posterior(plan.prior, plan.log),
        classes=len(classes),
        yields=(),
        width=sum(lot.copies for lot in plan.supply) + 1,
        good_wanted=sum(sum(day.copies_needed.values()) for day in plan.days),
        stops=True,
        negligible=NEGLIGIBLE,
    )
    return walk, steps
