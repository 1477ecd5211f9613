"""What the page of a design says."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.app.pages.canvas import Drawing
from feltload.app.pages.design.figures import ShownCurve, curves_figure, machines_figure
from feltload.app.text.facts import describe_fully
from feltload.app.text.proposed.conflict import FRONT_HEADER, front_rows, front_text, yielding_row
from feltload.app.text.proposed.proposal import (
    CAUTIONS,
    KICKER,
    cam_headline,
    change_row,
    combination_text,
    headline,
    stage_text,
    tolerance_row,
    tolerance_text,
)
from feltload.calibration import CamDesign, Proposal, TradeOff, reference_of
from feltload.signal import travel_of


@dataclass(frozen=True)
class FrontTable:
    """Two targets that are in each other's way, and the distances that can be had together."""

    sentence: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class DesignView:
    """The whole page, top to bottom; empty tables are left out."""

    title: str
    kicker: str
    sentence: str
    curves: Drawing
    machine: Drawing
    changes: tuple[tuple[str, ...], ...]
    stages: tuple[tuple[str, str, str], ...]
    fronts: tuple[FrontTable, ...]
    yielding: tuple[tuple[str, str], ...]
    remarks: tuple[str, ...]
    tolerance: str
    tolerances: tuple[tuple[str, str, str], ...]
    cautions: tuple[str, ...]


def build_proposal(proposal: Proposal) -> DesignView:
    """Put a proposal into words and figures."""
    reference = reference_of(proposal.proposed)
    travel = travel_of(reference, reference.start_angle_rad + proposal.q_rad)
    shift = reference.start_angle_rad - proposal.machine.start_angle.value
    curves = [
        ShownCurve(
            curve.load_kg,
            curve.today_n,
            curve.proposed_n,
            tuple(d.placed.moved(shift) for d in proposal.demands if d.load_kg == curve.load_kg),
        )
        for curve in proposal.curves
    ]
    heaviest = proposal.curves[-1].load_kg
    return DesignView(
        title=proposal.machine.name,
        kicker=KICKER,
        sentence=headline(proposal),
        curves=curves_figure(curves, travel),
        machine=machines_figure(proposal.machine, proposal.proposed, proposal.travel_rad, heaviest),
        changes=tuple(change_row(each) for each in proposal.dimensions),
        stages=tuple(stage_text(proposal, stage) for stage in proposal.stages),
        fronts=tuple(_front(front) for front in proposal.conflict.trade_offs),
        yielding=tuple(yielding_row(each) for each in proposal.conflict.yielding),
        remarks=(
            *(describe_fully(fact) for fact in proposal.facts),
            *(combination_text(each) for each in proposal.combinations),
        ),
        tolerance=tolerance_text(proposal),
        tolerances=tuple(tolerance_row(proposal, each) for each in proposal.tolerances.dimensions[:12]),
        cautions=CAUTIONS,
    )


def _front(front: TradeOff) -> FrontTable:
    rows = tuple(front_rows(front))
    return FrontTable(front_text(front), FRONT_HEADER[: len(rows[0])], rows)


def build_cam(design: CamDesign) -> DesignView:
    """Put a cam's design into words and figures."""
    reference = reference_of(design.proposed)
    travel = travel_of(reference, reference.start_angle_rad + design.table.q_rad)
    curves = [
        ShownCurve(
            float(load),
            None if design.today_n is None else design.today_n[i],
            design.table.force_n[i],
            tuple(p for p in design.placed if p.target.load_kg in (None, float(load))),
        )
        for i, load in enumerate(design.wanted.loads_kg)
    ]
    heaviest = float(np.max(design.wanted.loads_kg))
    return DesignView(
        title=design.machine.name,
        kicker=KICKER,
        sentence=cam_headline(design),
        curves=curves_figure(curves, travel),
        machine=machines_figure(design.machine, design.proposed, design.travel_rad, heaviest),
        changes=(),
        stages=(),
        fronts=(),
        yielding=(),
        remarks=tuple(describe_fully(fact) for fact in design.facts),
        tolerance="",
        tolerances=(),
        cautions=CAUTIONS,
    )
