"""Sentences of the facts of `feltload.acquisition`."""

from __future__ import annotations

from collections.abc import Mapping

from feltload.acquisition import DamageFact, HealthFact, LinkFact
from feltload.app.text.common import Sentence
from feltload.core import Fact


def _counted(one: str, many: str) -> Sentence:
    return lambda fact: one if fact.figures["count"] == 1 else many.format(n=fact.figures["count"])


def _figures(text: str) -> Sentence:
    return lambda fact: text.format(**fact.figures)


def _link_lost(fact: Fact) -> str:
    parts = {"where": "", "at_s": None, **fact.figures}
    place = f"{parts['where']}: " if parts["where"] else ""
    when = "" if parts["at_s"] is None else f", {parts['at_s']:.1f} s after the start"
    return f"{place}{parts['what']}{when}"


SENTENCES: Mapping[str, Sentence] = {
    HealthFact.FRAMES_DAMAGED: _counted(
        "1 frame arrived damaged (checksum) and was left out",
        "{n} frames arrived damaged (checksum) and were left out",
    ),
    HealthFact.FRAMES_UNREADABLE: _counted(
        "1 frame or line could not be read and was left out",
        "{n} frames or lines could not be read and were left out",
    ),
    HealthFact.SAMPLES_MISSING: _counted("1 sample is missing", "{n} samples are missing"),
    HealthFact.LOSS_NOT_COUNTED: _counted(
        "samples are missing in 1 place; how many cannot be determined",
        "samples are missing in {n} places; how many cannot be determined",
    ),
    HealthFact.WRAP_NOT_DESCRIBED: _figures(
        "its {field} starts again at 0 after {wrap} counts each time, and was counted on; write wrap = {wrap} for "
        "{field} in its stream description"
    ),
    HealthFact.SENSOR_RESTARTED: _counted(
        "the sensor started again once", "the sensor started again {n} times"
    ),
    HealthFact.SENSOR_CLOCK_JUMPED: _counted(
        "the sensor's clock jumped once", "the sensor's clock jumped {n} times"
    ),
    HealthFact.RANGE_END_REACHED: _counted(
        "1 sample is at the end of the sensor's range", "{n} samples are at the end of the sensor's range"
    ),
    HealthFact.ABOVE_RATED_CAPACITY: _counted(
        "1 force sample is above the rated capacity of the cell",
        "{n} force samples are above the rated capacity of the cell",
    ),
    HealthFact.MESSAGES_NOT_KEPT: _counted(
        "1 message could not be kept by the recorder", "{n} messages could not be kept by the recorder"
    ),
    DamageFact.INDEX_DAMAGED: _figures("the index at the end is damaged; all samples are there"),
    DamageFact.RECORDING_CUT: _figures(
        "it was cut or not closed: {unread_bytes} bytes at its end could not be read, "
        "and up to a second before its end may never have been written"
    ),
    DamageFact.RECORDING_ENDS: _figures("it ends at {at_s:.2f} s"),
    DamageFact.BLOCK_LENGTH_DAMAGED: _figures("the length of a block is damaged; what it holds was read"),
    DamageFact.BLOCK_LEFT_OUT: _figures("a block of {duration_s:.2f} s is damaged and was left out"),
    DamageFact.BYTES_LEFT_OUT: _figures("{bytes} bytes are damaged and were left out"),
    DamageFact.DESCRIPTION_COPY_DAMAGED: _figures(
        "one copy of its description is damaged; the other one was read"
    ),
    DamageFact.MACHINE_FILE_LEFT_OUT: _figures("its machine file is damaged and was left out"),
    DamageFact.CERTIFICATE_DAMAGED: _figures('its certificate "{certificate}" is damaged'),
    DamageFact.ATTACHMENT_DAMAGED: _figures("one of its attached files is damaged"),
    LinkFact.LINK_LOST: _link_lost,
    LinkFact.LINK_RETURNED: _figures("connected again, waiting for samples"),
    LinkFact.PORT_RENAMED: _figures("{before} came back as {now}"),
    LinkFact.OTHER_SENSOR: _figures(
        '{where} was expected to send "{expected}" but sends "{sends}": recorded as what it sends'
    ),
    LinkFact.BYTES_UNREADABLE: _figures("{bytes} bytes arrived, but none of them can be read as {expected}"),
}
"""Kind -> what is said of it."""
