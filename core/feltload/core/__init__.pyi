from .arrays import covariance_root as covariance_root
from .arrays import interpolation_weights as interpolation_weights
from .arrays import runs_of_true as runs_of_true
from .constants import (
    STANDARD_GRAVITY_M_S2 as STANDARD_GRAVITY_M_S2,
)
from .coverage import EXPANDED_COVERAGE_K as EXPANDED_COVERAGE_K
from .coverage import NORMAL_COVERAGE_95 as NORMAL_COVERAGE_95
from .coverage import coverage_95 as coverage_95
from .errors import (
    FeltloadError as FeltloadError,
)
from .errors import (
    InputError as InputError,
)
from .errors import (
    QuantityError as QuantityError,
)
from .facts import CommonFact as CommonFact
from .facts import Fact as Fact
from .facts import Figure as Figure
from .facts import Severity as Severity
from .facts import unique_facts as unique_facts
from .quantities import (
    Dimension as Dimension,
)
from .quantities import (
    Quantity as Quantity,
)
from .quantities import (
    format_quantity as format_quantity,
)
from .quantities import (
    parse_quantity as parse_quantity,
)
from .quantities import (
    si_per_unit as si_per_unit,
)
from .wording import (
    MISSING as MISSING,
)
from .wording import (
    NO_BREAK as NO_BREAK,
)
from .wording import (
    degrees as degrees,
)
from .wording import (
    force_text as force_text,
)
from .wording import (
    kilograms_felt as kilograms_felt,
)
from .wording import (
    listed as listed,
)
from .wording import (
    load_text as load_text,
)
from .wording import (
    newtons as newtons,
)
from .wording import (
    plain_degrees as plain_degrees,
)
from .wording import (
    seconds as seconds,
)
from .wording import (
    sentence as sentence,
)

__all__ = [
    "EXPANDED_COVERAGE_K",
    "MISSING",
    "NORMAL_COVERAGE_95",
    "NO_BREAK",
    "STANDARD_GRAVITY_M_S2",
    "CommonFact",
    "Dimension",
    "Fact",
    "FeltloadError",
    "Figure",
    "InputError",
    "Quantity",
    "QuantityError",
    "Severity",
    "covariance_root",
    "coverage_95",
    "degrees",
    "force_text",
    "format_quantity",
    "interpolation_weights",
    "kilograms_felt",
    "listed",
    "load_text",
    "newtons",
    "parse_quantity",
    "plain_degrees",
    "runs_of_true",
    "seconds",
    "sentence",
    "si_per_unit",
    "unique_facts",
]
