"""Every error of every layer crosses to another process whole, and takes context without being changed."""

from __future__ import annotations

import copy
import importlib
import pickle
import re
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import pytest

import feltload.core.errors as core_errors
from feltload.acquisition import DamageFact
from feltload.acquisition.errors import LinkError, LinkReason
from feltload.app.errors import DamagedInputError, OutputExistsError
from feltload.calibration.errors import OverloadError, ReadingsError
from feltload.core import Fact, FeltloadError, InputError

LAYERS = ("core", "acquisition", "signal", "calibration", "coaching", "app", "emulator")
CARRIED: dict[type[FeltloadError], FeltloadError] = {
    LinkError: LinkError("lost", reason=LinkReason.BUSY, where="/dev/ttyACM0", remedy="close it"),
    OutputExistsError: OutputExistsError(Path("out/profile.json")),
    DamagedInputError: DamagedInputError(
        InputError("too little moved", where="a.mcap"),
        (Fact(DamageFact.BLOCK_LEFT_OUT, session="a.mcap", figures={"duration_s": 0.4}),),
    ),
    ReadingsError: ReadingsError("too few", where="weights.csv", remedy="add rows", rows=(3, 7)),
    OverloadError: OverloadError("too heavy", where="weights.csv", rows=(9,)),
}
"""Those whose constructors ask for more than what, where and remedy."""


def every_kind(kind: type[FeltloadError] = FeltloadError) -> list[type[FeltloadError]]:
    for layer in LAYERS:
        importlib.import_module(f"feltload.{layer}.errors")
    return [kind, *(deeper for child in kind.__subclasses__() for deeper in every_kind(child))]


def example(kind: type[FeltloadError]) -> FeltloadError:
    return CARRIED.get(kind) or kind("is wrong", where="rig.toml: streams", remedy="correct it")


def raised(error: FeltloadError) -> None:
    raise error


@pytest.mark.parametrize("kind", every_kind(), ids=lambda kind: kind.__name__)
@pytest.mark.parametrize(
    "through",
    [copy.copy, copy.deepcopy, *(lambda e, n=n: pickle.loads(pickle.dumps(e, n)) for n in range(6))],
    ids=["copy", "deepcopy", *(f"pickle-{n}" for n in range(6))],
)
def test_every_error_comes_back_whole(kind, through):
    error = example(kind)
    back = through(error)
    assert type(back) is kind
    assert vars(back) == vars(error)
    assert (str(back), back.args) == (str(error), error.args)


def test_a_worker_process_hands_on_what_the_link_said():
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        with pytest.raises(LinkError) as caught:
            pool.submit(raised, CARRIED[LinkError]).result()
        assert caught.value.reason is LinkReason.BUSY
        with pytest.raises(OutputExistsError) as exists:
            pool.submit(raised, CARRIED[OutputExistsError]).result()
        assert exists.value.path == Path("out/profile.json")


def test_a_failure_of_the_bluetooth_stack_keeps_its_reason():
    """The library's own exceptions carry their reason in `args`, and so does what they are turned into."""
    from bleak.exc import BleakBluetoothNotAvailableError, BleakBluetoothNotAvailableReason

    from feltload.acquisition.links.ble_failure import link_error

    cause = BleakBluetoothNotAvailableError("off", BleakBluetoothNotAvailableReason.POWERED_OFF)
    error = link_error(cause, "AA:BB")
    back = pickle.loads(pickle.dumps(error))
    assert back.reason is LinkReason.ADAPTER_OFF
    assert str(back) == str(error)


@pytest.mark.parametrize("kind", every_kind(), ids=lambda kind: kind.__name__)
def test_context_makes_a_new_error(kind):
    error = example(kind)
    before = dict(vars(error))
    added = error.with_context(where="left.mcap", what="2 s were lost")
    assert vars(error) == before
    assert type(added) is kind
    assert added.what == f"{error.what}; 2 s were lost"
    assert {**vars(added), "what": error.what} == before


def test_context_fills_in_the_place_only_where_none_is_known():
    assert InputError("is wrong").with_context(where="rig.toml").where == "rig.toml"
    assert InputError("is wrong", where="line 3").with_context(where="rig.toml").where == "line 3"


def test_the_tree_in_the_documentation_is_the_tree_of_the_classes():
    drawn: list[tuple[str, str | None]] = []
    path: list[str] = []
    for line in (core_errors.__doc__ or "").splitlines():
        if match := re.match(r"^((?:[│ ] {3})*)((?:[├└]── )?)(\w+Error)\b", line):
            depth = len(match[1]) // 4 + bool(match[2])
            path[depth:] = [match[3]]
            drawn.append((match[3], path[depth - 1] if depth else None))
    real = [
        (kind.__name__, kind.__base__.__name__ if kind is not FeltloadError else None)
        for kind in every_kind()
    ]
    assert sorted(drawn, key=str) == sorted(real, key=str)
