"""Shares as people write them."""

from __future__ import annotations

import pytest

from feltload.core import QuantityError, parse_share


@pytest.mark.parametrize("text", ["70", "70 %", "70%", "0.7", " 0.70 ", "70\u00a0%"])
def test_one_share_in_every_way_of_writing(text: str) -> None:
    assert parse_share(text) == pytest.approx(0.7)


@pytest.mark.parametrize(("text", "share"), [("100 %", 1.0), ("120", 1.2), ("0.5 %", 0.005), ("1 %", 0.01)])
def test_percent_may_be_any(text: str, share: float) -> None:
    assert parse_share(text) == pytest.approx(share)


@pytest.mark.parametrize("text", ["1", "1.0", "1.5", "2"])
def test_what_could_be_meant_either_way_is_asked_back(text: str) -> None:
    with pytest.raises(QuantityError, match=r'--target: ".+" could mean .+ % or .+ %; write') as caught:
        parse_share(text, where="--target")
    assert f'"{float(text):g} %" or "{100 * float(text):g} %"' in str(caught.value)


@pytest.mark.parametrize("text", ["", "%", "half", "-70 %", "0", "nan", "inf"])
def test_anything_else_is_refused(text: str) -> None:
    with pytest.raises(QuantityError, match="is not a share above zero"):
        parse_share(text)
