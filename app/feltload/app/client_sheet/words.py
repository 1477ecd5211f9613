"""What a client's numbers say, in plain words."""

from __future__ import annotations

import numpy as np

from feltload.coaching import DeliveredHelp, HelpPlan, Match, repetitions_at

KGF_N = 9.80665


def newtons(force_n: float) -> str:
    """Force in N with kgf beside it."""
    return f"{force_n:.0f} N ({force_n / KGF_N:.0f} kgf)"


def match_sentences(found: Match) -> list[str]:
    """Where the client runs out, how evenly the machine asks, how many repetitions that allows."""
    worst = int(np.argmax(found.demand))
    low, high = (np.rad2deg(a) for a in found.limiting_range_rad)
    lines = [
        f"With {found.load_kg:g} kg the machine is hardest for this client at "
        f"{np.rad2deg(found.limiting_angle_rad):.0f}° (somewhere between {low:.0f}° and {high:.0f}°): it asks for "
        f"{newtons(found.load_n[worst])} of the {newtons(found.capacity_n[worst])} the client has there, "
        f"{100 * found.limiting_demand:.0f} % ± {200 * found.u_limiting_demand:.0f} %."
    ]
    if found.under_challenged_share > 0.05:
        lines.append(
            f"Over {100 * found.under_challenged_share:.0f} % of the travel it asks for less than 70 % of that: "
            "there the client is under-challenged."
        )
    else:
        lines.append("It challenges the client about evenly through the whole travel.")
    reps = repetitions_at(found.limiting_demand, found.u_limiting_demand)
    lines.append(f"Repetitions to be expected through the full range: {reps} (an estimate).")
    return lines


def delivered_sentences(found: DeliveredHelp, plan: HelpPlan | None) -> list[str]:
    """What a partner gave, and how it compares with the plan."""
    count = len({p.repetition for p in found.passes})
    if not found.helped:
        return [
            f"No help is seen in {count} repetition{'s' if count != 1 else ''}: everything lies within "
            f"± {np.nanmax(found.u95_n):.0f} N of zero."
        ]
    lines = []
    for phase, values in (("raising", found.concentric_n), ("lowering", found.eccentric_n)):
        seen = np.isfinite(values)
        if not seen.any():
            continue
        most, least = int(np.nanargmax(values)), int(np.nanargmin(values))
        band = found.u95_n
        if values[most] > band[most]:
            lines.append(
                f"While {phase}, help was greatest at {np.rad2deg(found.angle_rad[most]):.0f}°: "
                f"{newtons(values[most])} ± {band[most]:.0f} N."
            )
        if values[least] < -band[least]:
            lines.append(
                f"While {phase}, resistance was added most at {np.rad2deg(found.angle_rad[least]):.0f}°: "
                f"{newtons(-values[least])} ± {band[least]:.0f} N."
            )
    if plan is not None:
        at = np.interp(found.angle_rad, plan.angle_rad, plan.help_n, left=np.nan, right=np.nan)
        both = np.isfinite(at) & np.isfinite(found.concentric_n)
        if both.any():
            gap = found.concentric_n[both] - at[both]
            worst = int(np.argmax(np.abs(gap)))
            word = "more" if gap[worst] > 0 else "less"
            lines.append(
                f"Against the plan: {np.sqrt(np.mean(gap**2)):.0f} N off on the whole; most at "
                f"{np.rad2deg(found.angle_rad[both][worst]):.0f}°, {abs(gap[worst]):.0f} N {word} than planned."
            )
    return lines or ["Help and resistance came and went within the band; nothing stands out at one position."]
