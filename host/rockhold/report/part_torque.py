"""The part of a report about torque: a picture, and the pulls."""

from collections.abc import Mapping

from rockhold.capture.steps import Attempt
from rockhold.capture.torque import TorqueTrace
from rockhold.measure.trace import Trace
from rockhold.report.cells import NOTHING, moment, number, text_of
from rockhold.report.content import Block, Pictures, Section, Table
from rockhold.report.part_steps import title_of
from rockhold.report.pictures import torque_picture
from rockhold.report.pictures.svg import text_of as svg_text
from rockhold.report.units import Units


def torque_section(
    attempts: list[Attempt], torque: TorqueTrace | None, trace: Trace | None, units: Units
) -> Section | None:
    """Return the torque as a picture and the pulls of all torque steps; None without either."""
    blocks: list[Block] = [] if torque is None else [_picture(torque, trace, units)]
    for attempt in attempts:
        pulls = attempt.values.get("pulls")
        if attempt.kind != "torque" or not isinstance(pulls, list) or not pulls:
            continue
        rows = tuple(
            _pull(at, pull, attempt.values, units)
            for at, pull in enumerate(pulls, start=1)
            if isinstance(pull, Mapping)
        )
        values = attempt.values
        caption = (
            f"{title_of(attempt)}, attempt {attempt.number}: target "
            f"{moment(values.get('target_nm'), units)}, good from "
            f"{moment(values.get('low_nm'), units)} to {moment(values.get('high_nm'), units)}, "
            f"tool {text_of(values.get('tool'))}"
        )
        head = (
            "Pull",
            f"Peak, {units.torque}",
            "Took, s",
            "In the window",
            "Click",
            "Wheel turned",
        )
        blocks.append(Table(caption, head, rows, (1, 2)))
    if len(blocks) == 1 and torque is not None and torque.pulls:
        blocks.append(_found(torque, units))
    return Section("torque", "The torque pulls", tuple(blocks)) if blocks else None


def _picture(torque: TorqueTrace, trace: Trace | None, units: Units) -> Pictures:
    wide, narrow = (
        svg_text(torque_picture.torque_picture(torque, units, trace, size, name))
        for size, name in (
            (torque_picture.WIDE, "torque-wide"), (torque_picture.NARROW, "torque-narrow"),
        )
    )  # fmt: skip
    caption = "Dots: the peak of each pull. Seconds count from the first reading shown."
    return Pictures(caption, torque_picture.torque_words(torque, units), wide, narrow)


def _found(torque: TorqueTrace, units: Units) -> Table:
    """Return the pulls of a job without torque steps: nothing says what they should have been."""
    rows = tuple(
        (
            str(at),
            f"{pull.peak_nm * units.per_nm:.1f}",
            f"{pull.hidden_nm * units.per_nm:.1f}",
            f"{(pull.end_us - pull.start_us) / 1e6:.1f}",
            "not known" if pull.click is None else text_of(pull.click),
        )
        for at, pull in enumerate(torque.pulls, start=1)
    )
    head = ("Pull", f"Peak, {units.torque}", f"May be off, {units.torque}", "Took, s", "Click")
    return Table("Pulls found in the readings, outside any torque step", head, rows, (1, 2, 3))


def _pull(
    at: int, pull: Mapping[str, object], values: Mapping[str, object], units: Units
) -> tuple[str, ...]:
    peak_nm = number(pull.get("peak_nm"))
    low_nm, high_nm = number(values.get("low_nm")), number(values.get("high_nm"))
    start_us, end_us = number(pull.get("start_us")), number(pull.get("end_us"))
    took = f"{(end_us - start_us) / 1e6:.1f}" if start_us is not None and end_us is not None else ""
    if peak_nm is None or low_nm is None or high_nm is None:
        inside = "not known"
    elif low_nm <= peak_nm <= high_nm:
        inside = "yes"
    else:
        inside = "NO: too little" if peak_nm < low_nm else "NO: too much"
    return (
        str(at),
        NOTHING if peak_nm is None else f"{peak_nm * units.per_nm:.1f}",
        took or NOTHING,
        inside,
        text_of(pull.get("click")) if pull.get("click") is not None else "not known",
        text_of(pull.get("turned")) if pull.get("turned") is not None else "not known",
    )
