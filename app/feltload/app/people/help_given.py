"""Help by hand as a recording of a helped set shows it, with the plan that it was given by."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from feltload.app.errors import UsageError
from feltload.app.jobs.client_inputs import PersonSession, read_profile, read_session
from feltload.app.jobs.painful import KnownPain, SessionPain, read_marked_capacity, session_pain
from feltload.app.options import NOTHING_REPLACED, ReplacedFiles
from feltload.coaching import Caution, DeliveredHelp, HelpPlan, LoadLine, delivered_help, plan_help
from feltload.core import Fact
from feltload.signal import ProfileEstimate, Travel


@dataclass(frozen=True)
class MeasuredHelp:
    """A helped set.

    Attributes
    ----------
    session : PersonSession
    profile : ProfileEstimate
        The machine's, measured without help.
    given : DeliveredHelp
    plan : HelpPlan or None
        For the plates of the set; None where no capacity was named.
    hurts : SessionPain
        What of the set went where it hurts, and pain reported in it.
    """

    session: PersonSession
    profile: ProfileEstimate
    given: DeliveredHelp
    plan: HelpPlan | None
    hurts: SessionPain

    @property
    def along(self) -> Travel:
        """The travel along which positions are given."""
        return self.profile.travel

    @property
    def doubts(self) -> tuple[Fact, ...]:
        """What is wrong with the data."""
        return (*self.session.damage, *self.session.motion.warnings)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What goes with it."""
        return (*self.hurts.cautions, *self.given.cautions)


def measure_help(
    profile: Path,
    recording: Path,
    known: KnownPain,
    *,
    capacity: Path | None = None,
    target: float | None = None,
    side: str | None = None,
    replaced: ReplacedFiles = NOTHING_REPLACED,
) -> MeasuredHelp:
    """Measure the help in a set.

    Parameters
    ----------
    profile, recording : Path
    known : KnownPain
        What hurts, apart from the marks in the capacity file.
    capacity : Path, optional
        Compare with the plan for this client ...
    target : float, optional
        ... which aims at this share of capacity; as `plan_help` has it when left out.
    side, replaced
        As in `read_session`.

    Raises
    ------
    FeltloadError
        A file cannot be used, or belongs to another machine.
    """
    if capacity is None and target is not None:
        raise UsageError(
            "a plan needs the client's capacity", where="--target", remedy="give --capacity as well"
        )
    measured = read_profile(profile)
    session = read_session(recording, replaced=replaced, side=side, profile=measured)
    given = delivered_help(measured, session.motion, session.load_kg)
    plan, curve = None, None
    spans = known.on(measured.machine_name, measured.travel, side)
    if capacity is not None:
        curve = read_marked_capacity(capacity, measured, known)
        spans = curve.painful_rad
        plan = plan_help(LoadLine.of(measured), curve, session.load_kg, target)
    hurts = session_pain(session, spans, measured, capacity=curve)
    return MeasuredHelp(session, measured, given, plan, hurts)
