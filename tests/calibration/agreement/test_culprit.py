"""What was measured on the way names the culprit: emulated rigs whose file is wrong in one place."""

from __future__ import annotations

import dataclasses
import math

import pytest

from feltload.calibration.agreement.explanation import CauseKind
from feltload.calibration.agreement.result import AgreementVerdict
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.parameters import HINGE_INCLINATION, START_ANGLE, ParameterKey
from rig_culprit import Rig, rig

WHEEL = ParameterKey("wheel_radius")


@pytest.fixture(scope="module")
def leaning() -> Rig:
    """A lever on a hinge that leans by 25°."""
    return rig("inclined-lever", 2, 1)


def test_felt_inertia_tells_a_sleds_wheel_which_no_force_shows() -> None:
    sled = rig("sled", 1, 1)
    true = sled.survey.values[WHEEL]
    result = sled.checked(sled.survey.with_parameters({WHEEL: true / 1.3}))
    assert result.verdict is AgreementVerdict.DIFFERS
    assert result.en_max <= result.en_limit
    assert result.changed == (WHEEL,)
    (wheel,) = result.explanation.causes
    assert abs(wheel.value - true) < 3.0 * wheel.u
    assert sled.checked(sled.survey).verdict is AgreementVerdict.AGREES


def _without_tilt(machine: Machine) -> Machine:
    parameters = (
        dataclasses.replace(p, value=0.0, u=math.radians(0.5), u_is_default=True, declared=False)
        if p.key == HINGE_INCLINATION
        else p
        for p in machine.parameters
    )
    return dataclasses.replace(machine, parameters=tuple(parameters))


def test_a_tilt_that_the_file_leaves_out_is_taken_from_gravity(leaning: Rig) -> None:
    result = leaning.checked(_without_tilt(leaning.survey))
    assert result.verdict is AgreementVerdict.AGREES
    assert result.tilt.taken
    assert abs(result.tilt.value_rad - math.radians(25.0)) < 3.0 * result.tilt.u_rad


def test_a_stated_tilt_that_gravity_contradicts_is_named_first(leaning: Rig) -> None:
    result = leaning.checked(leaning.survey.with_parameters({HINGE_INCLINATION: 0.0}))
    assert result.verdict is AgreementVerdict.DIFFERS
    assert result.changed == (HINGE_INCLINATION,)
    assert result.explained


def test_a_start_angle_with_the_wrong_sign_is_seen_by_the_sensors_place(leaning: Rig) -> None:
    """The same force at any start angle of a lever that is pulled squarely: only gravity at rest shows it."""
    assert leaning.checked(leaning.survey).start_hint is None
    start = leaning.survey.values[START_ANGLE]
    hint = leaning.checked(leaning.survey.with_parameters({START_ANGLE: -start})).start_hint
    assert hint.slip is CauseKind.SIGN
    assert hint.meant_rad == pytest.approx(start)
