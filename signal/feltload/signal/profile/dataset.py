"""A profile as an array with named axes, for whoever works on several loads at once."""

from __future__ import annotations

from importlib.metadata import version
from typing import TYPE_CHECKING, Final

from feltload.core import InputError
from feltload.signal.profile.estimate import ProfileEstimate

if TYPE_CHECKING:
    import xarray as xr

_NAMES: Final = {
    "load_kg": "load on the machine",
    "load_kg_other": "load on the machine, the other one of a covariance",
    "static_n": "static force at the handle, midway between raising and lowering slowly",
    "static_u95_n": "half-width of the 95 % band of static_n",
    "raising_n": "force at the handle raising slowly",
    "lowering_n": "force at the handle lowering slowly",
    "friction_n": "friction: half of what raising and lowering slowly differ by",
    "friction_u95_n": "half-width of the 95 % band of friction_n",
    "passes_raising": "passes while raising",
    "passes_lowering": "passes while lowering",
    "covariance_n2": "covariance of static_n",
    "travel_percent": "part of the travel from its start",
    "handle_travel_mm": "way of the handle from the start stop",
    "angle_deg": "angle of the lever",
    "rotation_deg": "rotation from the start stop",
    "handle_line_deg": "angle of the handle's line",
}
"""Names for people, as netCDF's conventions have them."""
_BANDS: Final = {"static_n": "static_u95_n", "friction_n": "friction_u95_n"}
_UNITS: Final = {"_n": "N", "_deg": "degree", "_percent": "percent", "_mm": "mm", "_kg": "kg", "_n2": "N2"}


def profile_dataset(estimate: ProfileEstimate) -> xr.Dataset:
    """Put a profile into an xarray data set with the dimensions ``load_kg`` and ``position``.

    Parameters
    ----------
    estimate : ProfileEstimate

    Returns
    -------
    Dataset
        Names as in ``profile.csv``, each variable with its unit in ``attrs["units"]`` and what it is in
        ``attrs["long_name"]``, a value's band in ``attrs["ancillary_variables"]``; positions are coordinates.
        ``covariance_n2`` (of ``static_n``) has each dimension a second time, named ``..._other``.

    Raises
    ------
    InputError
        When xarray is not installed.
    """
    try:
        import xarray as xr
    except ImportError:
        raise InputError(
            "a data set with named axes needs xarray",
            where=estimate.machine_name,
            remedy='pip install "feltload[stats]"',
        ) from None
    loads, places = estimate.loads_kg, estimate.travel.columns(estimate.angle_rad)
    both = ("load_kg", "position")
    curves = {
        "static_n": estimate.static_n,
        "static_u95_n": estimate.static_u95_n,
        "raising_n": estimate.raising_n,
        "lowering_n": estimate.lowering_n,
        "friction_n": estimate.friction_n,
        "friction_u95_n": estimate.friction_u95_n,
        "passes_raising": estimate.raising_count,
        "passes_lowering": estimate.lowering_count,
    }
    shape = (loads.size, estimate.angle_rad.size)
    crossed = estimate.covariance_n2.reshape(shape + shape)
    found = xr.Dataset(
        {name: (both, values) for name, values in curves.items()}
        | {"covariance_n2": ((*both, "load_kg_other", "position_other"), crossed)},
        coords={"load_kg": loads, "load_kg_other": loads}
        | {name: ("position", values) for name, values in places.items()},
        attrs={
            "title": f"{estimate.method.said}, {estimate.machine_name}",
            "machine": estimate.machine_name,
            "method": str(estimate.method),
            "coverage": "95 %",
            "source": f"feltload {version('feltload')}",
        },
    )
    for name, variable in found.variables.items():
        unit = next((unit for end, unit in _UNITS.items() if str(name).endswith(end)), None)
        if unit is not None:
            variable.attrs["units"] = unit
        variable.attrs["long_name"] = _NAMES[str(name)]
        if name in _BANDS:
            variable.attrs["ancillary_variables"] = _BANDS[str(name)]
    found["load_kg_other"].attrs["units"] = "kg"
    for name in ("passes_raising", "passes_lowering"):
        found[name].attrs["units"] = "1"
    return found
