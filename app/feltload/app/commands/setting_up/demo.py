"""``feltload demo``: an emulated machine, from wire to report."""

from __future__ import annotations

from pathlib import Path

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def demo(
    *,
    out: Path = Path("feltload-demo"),
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Measure an emulated machine over a real serial link, ending in a report. About a minute.

    The machine, the person on it and the sensors are invented; the bytes, the ports, the recordings and
    everything made of them are real.

    Example: feltload demo --out my-demo

    Parameters
    ----------
    out
        Directory for the recordings and the result.
    force_overwrite
        Replace an earlier demo that is there already.
    """
    from feltload.app.files.outputs import claim_directory
    from feltload.app.jobs.machine_check import check_measured
    from feltload.app.jobs.measuring.measurement import measure
    from feltload.app.pages.result_folder import AGREEMENT, ALL_FILES, write_result
    from feltload.app.sessions.demo import file_names, record_demo
    from feltload.app.text.machine.agreement import agreement_text
    from feltload.signal import profile_summary

    console = Console(common)
    claim_directory(out, (*file_names(), *ALL_FILES, AGREEMENT), overwrite=force_overwrite)
    recorded = record_demo(console, out)
    with console.progress("Estimating the profile", total=len(recorded.recordings) + 3) as advance:
        measured = measure(recorded.recordings, advance=advance)
        advance(len(recorded.recordings) + 1)
        check = check_measured(measured.estimate, measured.provenance, measured.machine)
        advance(len(recorded.recordings) + 2)
        report = write_result(out, measured.estimate, measured.provenance, check)
    console.findings(measured.estimate)
    console.say(f"Against the machine file: {check.agreement.verdict}. {agreement_text(check.agreement)}")
    console.say(f"Report: {report.resolve()}")
    console.result(
        {**profile_summary(measured.estimate), "verdict": check.agreement.verdict, "report": str(report)}
    )
    return 0
