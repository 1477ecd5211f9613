"""Isometric holds in a recording: which efforts they are, and the best steady second of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feltload.coaching.capacity.facts import CapacityFact
from feltload.coaching.errors import CapacityError
from feltload.core import Fact, Figure, Floats, runs_of_true

REPETITION_RANGE_RAD = np.deg2rad(15.0)
"""An effort through more travel than this is a repetition, not a hold that gave way."""

USUAL_LEVER_M = 0.6
"""Handle radius of a usual lever, on which angles that a hold may move were chosen (common practice, no source)."""

STRONG_SHARE = 0.25
"""An effort lasts while the force is above this fraction of the session's greatest force."""


@dataclass(frozen=True)
class Hold:
    """One isometric hold: its best steady second.

    Attributes
    ----------
    angle_rad : float
        Lever angle during that second.
    force_n : float
        Mean handle force over it.
    u_n : float
        Standard uncertainty of `force_n` from the wobble of the force within the second.
    start_s : float
        Where the second begins on the recording's clock.
    order : int
        Place among the session's holds, from 1: later ones are made by a more tired person.
    movement_rad : float
        How far the lever moved within the second.
    """

    angle_rad: float
    force_n: float
    u_n: float
    start_s: float
    order: int
    movement_rad: float


def find_holds(
    time_s: Floats,
    angle_rad: Floats,
    force_n: Floats,
    *,
    window_s: float = 1.0,
    threshold: float = STRONG_SHARE,
    still_rad: float = np.deg2rad(1.5),
    handle_m_per_rad: float | None = None,
) -> tuple[tuple[Hold, ...], tuple[Fact, ...]]:
    """Find isometric holds and the best steady second of each.

    Parameters
    ----------
    time_s, angle_rad, force_n : ndarray, shape (n,)
        One clock, uniform or nearly so; force tared.
    window_s : float
        Length of the steady part, 1 s by common practice (no source).
    threshold : float
        A hold lasts while the force is above this fraction of the session's greatest.
    still_rad : float
        The lever may move this far within the second (straps and pads give a little).
    handle_m_per_rad : float, optional
        Handle travel of a machine whose sensor turns with a drum or wheel: what a lever's handle may move in that time,
        that handle may too.

    Returns
    -------
    holds : tuple of Hold
        In order of time.
    left_out : tuple of Fact
        Efforts that are no holds (`CapacityFact.HOLD_MOVED`). Repetitions, which move on purpose, are no failed holds.

    Raises
    ------
    CapacityError
        If nothing in the recording is a hold.
    """
    if len(time_s) < 3:
        raise CapacityError(
            "the recording is too short to hold an effort", remedy="hold each position 3 to 5 s"
        )
    turns = 1.0 if handle_m_per_rad is None else max(1.0, USUAL_LEVER_M / abs(handle_m_per_rad))
    still_rad = turns * still_rad
    step_s = float(np.median(np.diff(time_s)))
    width = max(2, round(window_s / step_s))
    holds: list[Hold] = []
    left_out: list[Fact] = []
    repeated = False
    for first, last in strong_efforts(force_n, threshold):
        if last - first < width:
            continue
        if np.ptp(angle_rad[first:last]) > turns * REPETITION_RANGE_RAD:
            repeated = True
            continue
        windows = np.lib.stride_tricks.sliding_window_view(force_n[first:last], width)
        angles = np.lib.stride_tricks.sliding_window_view(angle_rad[first:last], width)
        movement = angles.max(axis=1) - angles.min(axis=1)
        mean = windows.mean(axis=1)
        still = movement <= still_rad
        if not still.any():
            left_out.append(
                Fact(
                    CapacityFact.HOLD_MOVED,
                    span_s=(float(time_s[first]), float(time_s[last - 1])),
                    figures=_moved(float(movement.min()), handle_m_per_rad),
                )
            )
            continue
        best = int(np.argmax(np.where(still, mean, -np.inf)))
        spread = float(windows[best].std())
        holds.append(
            Hold(
                angle_rad=float(angles[best].mean()),
                force_n=float(mean[best]),
                # Tremor is slow (some 4 to 10 Hz), so a second holds about eight independent values.
                u_n=spread / np.sqrt(8.0),
                start_s=float(time_s[first + best]),
                order=len(holds) + 1,
                movement_rad=float(movement[best]),
            )
        )
    if not holds:
        raise CapacityError(
            _why_no_hold(left_out, repeated),
            remedy="hold each position 3 to 5 s as strongly as you can, with the arm fixed or overloaded",
        )
    return tuple(holds), tuple(left_out)


def _moved(movement_rad: float, handle_m_per_rad: float | None) -> dict[str, Figure]:
    if handle_m_per_rad is None:
        return {"movement_rad": movement_rad}
    return {"movement_rad": movement_rad, "movement_m": movement_rad * abs(handle_m_per_rad)}


def _why_no_hold(left_out: Sequence[Fact], repeated: bool) -> str:
    if left_out and left_out[0].span_s is not None:
        moved = f"the lever moved {np.rad2deg(left_out[0].figure('movement_rad')):.1f}°"
        if "movement_m" in left_out[0].figures:
            moved = f"the handle moved {100.0 * left_out[0].figure('movement_m'):.0f} cm"
        return f"the effort at {left_out[0].span_s[0]:.1f} s is no hold: {moved} within its steadiest second"
    return "only moving repetitions were found" if repeated else "no effort of a second or more was found"


def strong_efforts(force_n: Floats, threshold: float = STRONG_SHARE) -> list[tuple[int, int]]:
    """First index, and index after the last, of every stretch above a fraction of the greatest force."""
    return runs_of_true(force_n > threshold * float(np.max(force_n)))
