"""Whether the measurements of a study belong together, and which of them want a second look."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from feltload.app.errors import UsageError
from feltload.app.jobs.study.facts import StudyFact
from feltload.app.jobs.study.measured import MACHINE, MeasuredCurve, StudyRow, StudySource
from feltload.coaching import FACTORS, SAME_LOAD_KG
from feltload.core import Fact, Figure, Severity

UNPLUGGED_SHARE = 0.2
"""A mean force below this part of the same machine's largest was not measured by a cell that worked."""
LEAST_JUDGED_N = 20.0
"""Of a machine that asks for less, a small force is no sign of anything."""
FAR_SCATTERS = 6.0
"""Robust standard deviations of repeated measurements from which on one is far off."""
FAR_SHARE = 0.02
"""A difference below this part of the force is not reported, however well the others repeat."""
FEWEST_JUDGED = 6
"""Repeated measurements from which their scatter can be judged."""
OF_MEDIAN = 1.4826
"""Standard deviation of normal values, as a multiple of their median absolute deviation."""


def require_sound(curves: Sequence[MeasuredCurve], sources: Sequence[StudySource]) -> None:
    """Refuse measurements that cannot stand in one study.

    Raises
    ------
    UsageError
        One is there twice; a label stands for two machines; some lack a label that others have; a cell did not measure.
    """
    _require_once(sources)
    _require_one_machine_a_label(curves, sources)
    _require_labels(curves)
    _require_measured(curves)


def _require_once(sources: Iterable[StudySource]) -> None:
    taken: dict[str, str] = {}
    for source in sources:
        for digest in source.recordings_sha256:
            if digest in taken:
                raise UsageError(
                    f"{source.measurement} and {taken[digest]} are made from the same recording",
                    where=source.path,
                    remedy="name each measurement once: a copy repeats perfectly and says nothing",
                )
            taken[digest] = source.measurement


def _require_one_machine_a_label(curves: Iterable[MeasuredCurve], sources: Iterable[StudySource]) -> None:
    named = {source.measurement: source.machine for source in sources}
    machines: dict[str, tuple[str, str]] = {}
    for curve in curves:
        label, machine = curve.labels[MACHINE], named[curve.name]
        known = machines.setdefault(label, (machine, curve.name))
        if known[0] != machine:
            raise UsageError(
                f'machine "{label}" is "{known[0]}" in {known[1]} and "{machine}" here',
                where=curve.name,
                remedy="give different machines different labels",
            )


def _require_labels(curves: Sequence[MeasuredCurve]) -> None:
    for factor in FACTORS:
        lacking = [curve.name for curve in curves if factor not in curve.labels]
        if 0 < len(lacking) < len(curves):
            raise UsageError(
                f"has no {factor}, though others have",
                where=lacking[0],
                remedy=f"note the {factor} of every measurement, or of none",
            )


def _require_measured(curves: Sequence[MeasuredCurve]) -> None:
    """A cell that was unplugged reads next to nothing, and would be averaged with the others."""
    mean_n = [float(np.nanmean(curve.static_n)) for curve in curves]
    for curve, own_n in zip(curves, mean_n, strict=True):
        same = [
            other_n
            for other, other_n in zip(curves, mean_n, strict=True)
            if other.labels[MACHINE] == curve.labels[MACHINE]
            and abs(other.load_kg - curve.load_kg) < SAME_LOAD_KG
        ]
        usual_n = max(map(abs, same))
        if usual_n > LEAST_JUDGED_N and abs(own_n) < UNPLUGGED_SHARE * usual_n:
            raise UsageError(
                f"has a mean force of {own_n:.1f} N with {curve.load_kg:g} kg, another measurement of machine "
                f"{curve.labels[MACHINE]} {usual_n:.1f} N: its cell did not measure",
                where=curve.name,
                remedy=f'measure it again, or write leave_out = ["{curve.name}"] into the study file',
            )


def far_off(rows: Sequence[StudyRow]) -> list[Fact]:
    """Measurements far from the others of their machine, judged by the scatter of all; they stay in every figure."""
    facts = []
    for load_kg in dict.fromkeys(row.load_kg for row in rows):
        at_load = [row for row in rows if row.load_kg == load_kg]
        mean_n = np.array([row.quantities["mean"] for row in at_load])
        machines = np.array([row.labels[MACHINE] for row in at_load])
        usual_n = np.array([np.median(mean_n[machines == machine]) for machine in machines])
        away_n = np.abs(mean_n - usual_n)
        # The middle one of an odd number is no distance from itself.
        judged = away_n[away_n > 0.0]
        if judged.size < FEWEST_JUDGED:
            continue
        limit_n = np.maximum(FAR_SCATTERS * OF_MEDIAN * np.median(judged), FAR_SHARE * np.abs(usual_n))
        for k in np.flatnonzero(away_n > limit_n):
            figures: dict[str, Figure] = {
                "measurement": at_load[k].measurement,
                "load_kg": load_kg,
                "machine": str(machines[k]),
                "value_n": float(mean_n[k]),
                "usual_n": float(usual_n[k]),
            }
            facts.append(Fact(StudyFact.FAR_OFF, Severity.SERIOUS, figures=figures))
    return facts


def certificate_facts(sources: Sequence[StudySource]) -> list[Fact]:
    """What the certificates of the cells have to do with the scatter."""
    known = [source for source in sources if source.force_certificates]
    if not known:
        return []
    facts = []
    if len(known) < len(sources):
        counts: dict[str, Figure] = {"without": len(sources) - len(known), "measurements": len(sources)}
        facts.append(Fact(StudyFact.CERTIFICATE_MISSING, Severity.NOTE, figures=counts))
    kinds = len({source.force_certificates for source in known})
    if kinds > 1:
        facts.append(Fact(StudyFact.CERTIFICATES_DIFFER, Severity.NOTE, figures={"certificates": kinds}))
    return facts
