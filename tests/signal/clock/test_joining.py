import numpy as np
import pytest
from scipy.optimize import linprog

from feltload.signal.clock.facts import ClockFact
from feltload.signal.clock.joining import join_clock
from feltload.signal.clock.line import lower_line
from feltload.signal.errors import ClockError


def arrivals(rng, *, count=6000, rate_hz=100.0, skew=50e-6, batch=1, mean_delay_s=0.002):
    """True times, device stamps and arrivals with delays that are never negative."""
    true_s = np.arange(count) / rate_hz
    host_s = true_s + rng.exponential(mean_delay_s, count)
    newest = np.minimum((np.arange(count) // batch + 1) * batch - 1, count - 1)
    return true_s, true_s / (1.0 + skew) + 123.4, np.maximum.accumulate(host_s[newest])


def linear_programme(device_s, host_s):
    """The programme of Moon, Skelly & Towsley (1999), by a general solver."""
    x, y = device_s - device_s.mean(), host_s - host_s[0]
    out = linprog(
        [-float(len(x)), -x.sum()], A_ub=np.stack([np.ones_like(x), x], 1), b_ub=y, bounds=(None, None)
    )
    return out.x[1], out.x[0] + host_s[0]


def test_hull_edge_is_the_optimum_of_the_linear_programme():
    # S. B. Moon, P. Skelly, D. Towsley, INFOCOM 1999; solved with scipy's linprog.
    for seed in range(8):
        _, device_s, host_s = arrivals(np.random.default_rng(seed), count=800, batch=1 + 4 * (seed % 2))
        line = lower_line(device_s, host_s)
        slope, offset = linear_programme(device_s, host_s)
        assert line.slope == pytest.approx(slope, abs=1e-9)
        assert line.offset_s == pytest.approx(offset, abs=1e-9)


def test_error_does_not_depend_on_the_skew():
    # Moon et al. (1999): the estimate's error is independent of the skew itself.
    errors = []
    for skew in (-2e-4, 0.0, 1e-6, 2e-4, 5e-3):
        rng = np.random.default_rng(7)
        _, device_s, host_s = arrivals(rng, skew=skew)
        errors.append(join_clock(host_s, device_s).skew - skew)
    np.testing.assert_allclose(errors, errors[1], atol=2e-9)


def test_sharper_than_least_squares_under_one_sided_delay():
    edge, squares = [], []
    for seed in range(20):
        _, device_s, host_s = arrivals(np.random.default_rng(seed))
        edge.append(join_clock(host_s, device_s).skew - 50e-6)
        squares.append(np.polyfit(device_s - device_s[0], host_s, 1)[0] - 1.0 - 50e-6)
    assert np.std(edge) < 0.15e-6
    assert np.std(edge) < 0.1 * np.std(squares)


# The stated uncertainty is careful, by a factor of four and of eight; three times wider or narrower is noticed.
@pytest.mark.parametrize(("batch", "ratio"), [(1, 0.23), (10, 0.125)])
def test_times_are_within_their_uncertainty(batch, ratio):
    ratios = []
    for seed in range(20):
        true_s, device_s, host_s = arrivals(np.random.default_rng(seed), batch=batch)
        fit = join_clock(host_s, device_s)
        ratios.append(np.sqrt(np.mean(((fit.time_s - true_s) / fit.u_s) ** 2)))
    assert ratio / 2.0 < np.sqrt(np.mean(np.square(ratios))) < 2.0 * ratio
    assert fit.u_s.max() < 2e-4


def test_device_reset_and_damaged_stamp():
    true_s, device_s, host_s = arrivals(np.random.default_rng(1), count=12_000)
    device_s = np.where(true_s > 70.0, device_s - 190.0, device_s)
    device_s[500] += 4000.0
    fit = join_clock(host_s, device_s)
    assert [piece.start for piece in fit.pieces] == [0, 7001]
    assert np.abs(fit.time_s - true_s).max() < 1e-4
    facts = {fact.kind: fact for fact in fit.warnings}
    assert facts[ClockFact.RESTARTED].span_s[0] == pytest.approx(70.01, abs=0.005)
    assert facts[ClockFact.STRAY_STAMPS].figures["count"] == 1


def test_stalled_link_is_no_jump():
    true_s, device_s, host_s = arrivals(np.random.default_rng(2), count=12_000)
    host_s = np.where((true_s > 40.0) & (true_s < 46.0), np.maximum(host_s, 46.0), host_s)
    for fit in (join_clock(host_s, device_s), join_clock(host_s, None, rate_hz=100.0)):
        assert len(fit.pieces) == 1
        assert np.abs(fit.time_s - true_s).max() < 1e-4


def test_lost_samples_with_and_without_sequence_numbers():
    true_s, _, host_s = arrivals(np.random.default_rng(3), count=12_000)
    keep = np.ones(len(true_s), dtype=bool)
    keep[3000:3050] = False
    numbered = join_clock(host_s[keep], None, np.arange(len(true_s))[keep], rate_hz=100.0)
    assert np.abs(numbered.time_s - true_s[keep]).max() < 1e-4
    counted = join_clock(host_s[keep], None, None, rate_hz=100.0)
    assert len(counted.pieces) == 1
    assert np.abs(counted.time_s - true_s[keep]).max() < 1e-4
    # The health of the stream reports the loss; the clock was not uncertain for it.
    assert counted.warnings == ()


def test_an_hour_with_a_crystal_that_drifts():
    rng = np.random.default_rng(4)
    true_s = np.arange(0.0, 3600.0, 0.01)
    device_s = true_s + 10e-6 * 1800.0 * (1 - np.cos(2 * np.pi * true_s / 3600.0)) / np.pi
    fit = join_clock(true_s + rng.exponential(0.002, len(true_s)), device_s)
    assert np.sqrt(np.mean((fit.time_s - true_s) ** 2)) < 3e-5
    straight = np.polyval(np.polyfit(device_s, true_s, 1), device_s)
    assert np.sqrt(np.mean((straight - true_s) ** 2)) > 1e-3


def test_without_arrivals_the_stamps_are_common():
    stamps = np.arange(100) * 0.01
    fit = join_clock(np.full(100, np.nan), stamps)
    np.testing.assert_array_equal(fit.time_s, stamps)
    assert fit.counter == "common" and fit.u_s.max() == 0.0


def test_bad_input_is_one_clear_line():
    with pytest.raises(ClockError, match="no samples"):
        join_clock([], [])
    with pytest.raises(ClockError, match="neither arrival nor device"):
        join_clock([np.nan, np.nan])
    with pytest.raises(ClockError, match="3 values for 2"):
        join_clock([0.0, 1.0], [0.0, 1.0, 2.0])


@pytest.mark.parametrize("numbered", [True, False])
def test_one_stamp_for_all_samples_of_a_message(numbered):
    rng = np.random.default_rng(9)
    true_s, device_s, host_s = arrivals(rng, batch=10)
    shared = np.repeat(device_s[9::10], 10)
    fit = join_clock(host_s, shared, np.arange(len(true_s)) if numbered else None, rate_hz=100.0)
    assert fit.counter == ("sequence" if numbered else "count")
    assert np.all(np.diff(fit.time_s) > 0.0)
    assert np.abs(fit.time_s - true_s).max() < 2e-4


def test_stamps_of_a_tick_coarser_than_the_samples():
    rng = np.random.default_rng(10)
    true_s, device_s, host_s = arrivals(rng, count=60_000, rate_hz=3000.0, mean_delay_s=0.0005)
    fit = join_clock(host_s, np.floor(device_s * 1000.0) / 1000.0, rate_hz=3000.0)
    assert np.std(fit.time_s - true_s) < 5e-5


def test_common_stamps_written_too_coarsely_are_counted_through():
    # A logger's table with hundredths of a second at 833 Hz and no arrivals.
    true_s = np.arange(0.0, 60.0, 1.0 / 833.0)
    fit = join_clock(np.full(len(true_s), np.nan), np.floor(true_s * 100.0) / 100.0)
    assert np.all(np.diff(fit.time_s) > 0.0)
    assert np.std(fit.time_s - true_s) < 2e-4


def test_arrivals_without_delay_give_the_device_clock_back():
    # No stamp is round, so none is rounded.
    device_s = np.arange(0.0, 30.0, 0.01) + 0.00003
    fit = join_clock(3.0 + 1.0001 * device_s, device_s)
    assert fit.counter == "device" and fit.warnings == ()
    np.testing.assert_allclose(fit.time_s, 3.0 + 1.0001 * device_s, atol=1e-9)
    assert fit.skew == pytest.approx(1e-4, abs=1e-9)
    assert fit.rate_hz == pytest.approx(100.0 / 1.0001)
    assert fit.delay_s == pytest.approx(0.0, abs=1e-9)
    (piece,) = fit.pieces
    assert (piece.start, piece.stop) == (0, 3000)
    assert (piece.start_s, piece.stop_s) == pytest.approx((3.00003, 3.00003 + 1.0001 * 29.99))
    assert (piece.skew, piece.u_skew) == pytest.approx((fit.skew, fit.u_skew))


def test_skew_delay_and_their_uncertainty():
    errors, ratios = [], []
    for seed in range(20):
        _, device_s, host_s = arrivals(np.random.default_rng(seed), count=2000)
        fit = join_clock(host_s, device_s)
        errors.append(fit.skew - 50e-6)
        ratios.append(errors[-1] / fit.u_skew)
        # The median of exponential delays of 2 ms in the mean.
        assert fit.delay_s == pytest.approx(0.002 * np.log(2.0), rel=0.15)
    assert np.mean(errors) == pytest.approx(0.0, abs=1e-6)
    # The roughness of the edge is a careful measure for a line that the whole edge carries, by a factor of five.
    assert 0.12 < np.sqrt(np.mean(np.square(ratios))) < 0.35


def test_numbers_and_counts_have_a_rate_instead_of_a_clock():
    number = np.arange(3000.0)
    for given, counter in ((number + 70.0, "sequence"), (None, "count")):
        fit = join_clock(5.0 + number / 99.9, None, given, rate_hz=100.0)
        assert fit.counter == counter
        assert fit.rate_hz == pytest.approx(99.9)
        # Against the nominal rate: 100 / 99.9 - 1.
        assert fit.skew == pytest.approx(100.0 / 99.9 - 1.0, rel=1e-6)
        assert fit.pieces[0].skew == pytest.approx(0.0, abs=1e-9)
        np.testing.assert_allclose(fit.time_s, 5.0 + number / 99.9, atol=1e-8)
    assert join_clock(5.0 + number / 99.9).skew == 0.0
    # One number for all is none.
    assert join_clock(5.0 + number / 99.9, None, np.zeros(3000)).counter == "count"


@pytest.mark.parametrize("leap", [3, -3, 400])
def test_numbers_that_leap_without_a_loss_begin_a_piece(leap):
    # Three numbers are 0.03 s; 0.6 of a sample, 0.006 s, is the smallest leap looked for.
    true_s, _, host_s = arrivals(np.random.default_rng(5), mean_delay_s=0.0003)
    number = np.arange(len(true_s)) + leap * (true_s >= 30.0)
    fit = join_clock(host_s, None, number, rate_hz=100.0)
    assert [piece.start for piece in fit.pieces] == [0, 3000]
    assert np.abs(fit.time_s - true_s).max() < 2e-4
    assert [fact.kind for fact in fit.warnings] == [ClockFact.RESTARTED]
    assert fit.warnings[0].span_s == pytest.approx((30.0, 30.0), abs=0.001)


def test_a_link_that_becomes_slower_by_less_than_half_a_sample_is_no_leap():
    true_s, _, host_s = arrivals(np.random.default_rng(5), mean_delay_s=0.0003)
    fit = join_clock(host_s + 0.004 * (true_s >= 30.0), None, np.arange(len(true_s)), rate_hz=100.0)
    assert len(fit.pieces) == 1


def test_samples_without_an_arrival_take_their_time_from_the_counter():
    true_s, device_s, host_s = arrivals(np.random.default_rng(6))
    whole = join_clock(host_s, device_s)
    without = np.arange(len(true_s)) % 3 == 1
    without[:40] = without[-40:] = True
    fit = join_clock(np.where(without, np.nan, host_s), device_s)
    assert np.abs(fit.time_s - true_s).max() < 2e-4
    # What is filled in between takes no part in the delays.
    known = whole.time_s[~without]
    assert fit.delay_s == pytest.approx(np.median(host_s[~without] - known), abs=5e-5)


def test_rounded_stamps_are_uncertain_by_their_tick():
    # A device at 40 Hz that stamps hundredths of a second. GUM F.2.2.1: a rectangle, here of the full tick each way.
    true_s = np.arange(0.0, 60.0, 0.025)
    host_s = true_s + np.random.default_rng(7).exponential(1e-4, len(true_s))
    fit = join_clock(host_s, np.floor(true_s * 100.0) / 100.0)
    assert fit.counter == "device"
    np.testing.assert_allclose(fit.u_s, 0.01 / np.sqrt(3.0), rtol=0.15)
    assert np.all(fit.u_s >= 0.01 / np.sqrt(3.0))
    (fact,) = fit.warnings
    assert fact.kind == ClockFact.TIMES_UNCERTAIN
    assert fact.figures["u_s"] == np.max(fit.u_s)


def test_a_short_piece_takes_the_rate_of_the_long_one():
    # A clock that runs a thousandth fast, reset two seconds before the end, and arrivals up to 5 ms late.
    true_s, device_s, host_s = arrivals(np.random.default_rng(8), skew=1e-3, mean_delay_s=0.003)
    fit = join_clock(host_s, np.where(true_s < 58.0, device_s, device_s - 170.0))
    assert [piece.start for piece in fit.pieces] == [0, 5800]
    assert fit.pieces[1].skew == pytest.approx(fit.pieces[0].skew, abs=1e-12)
    assert fit.pieces[0].skew == pytest.approx(1e-3, abs=1e-5)
    assert fit.skew == pytest.approx(1e-3, abs=1e-5)
    # It says itself how little its own arrivals show.
    assert fit.pieces[1].u_skew > 5.0 * fit.pieces[0].u_skew


def test_one_sample_and_one_stamp_are_taken_as_they_arrived():
    one = join_clock([4.0], [70.0])
    assert (one.time_s.tolist(), one.u_s.tolist(), one.skew) == ([4.0], [1e-3], 0.0)
    assert np.isinf(one.u_skew) and np.isnan(one.rate_hz)
    assert [fact.kind for fact in one.warnings] == [ClockFact.TOO_FEW_SAMPLES]
    assert join_clock([4.0, 5.0], [70.00003, 71.00003]).warnings == ()


def test_common_stamps_are_kept_and_steps_back_reported():
    stamps = np.arange(100) * 0.02
    fit = join_clock(np.full(100, np.nan), stamps)
    assert (fit.rate_hz, fit.skew, fit.warnings) == (pytest.approx(50.0), 0.0, ())
    stamps[40] = stamps[39]
    assert join_clock(np.full(100, np.nan), stamps).warnings == ()
    stamps[40] = stamps[38]
    assert [fact.kind for fact in join_clock(np.full(100, np.nan), stamps).warnings] == [
        ClockFact.STAMPS_STEP_BACK
    ]
