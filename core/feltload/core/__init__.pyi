from .arrays import (
    Bytes as Bytes,
    Flags as Flags,
    Floats as Floats,
    Indices as Indices,
    covariance_root as covariance_root,
    interpolation_weights as interpolation_weights,
    runs_of_true as runs_of_true,
)
from .constants import POUND_KG as POUND_KG, STANDARD_GRAVITY_M_S2 as STANDARD_GRAVITY_M_S2
from .coverage import (
    EXPANDED_COVERAGE_K as EXPANDED_COVERAGE_K,
    NORMAL_COVERAGE_95 as NORMAL_COVERAGE_95,
    ONE_SIDED_COVERAGE_95 as ONE_SIDED_COVERAGE_95,
    coverage_95 as coverage_95,
)
from .errors import FeltloadError as FeltloadError, InputError as InputError, QuantityError as QuantityError
from .facts import (
    CommonFact as CommonFact,
    Fact as Fact,
    Figure as Figure,
    Severity as Severity,
    serious_facts as serious_facts,
    unique_facts as unique_facts,
)
from .files import replacing as replacing, write_file as write_file
from .masses import mass_text as mass_text
from .pictures import (
    BY_ANGLE as BY_ANGLE,
    Curve as Curve,
    Intervals as Intervals,
    Picture as Picture,
    Scale as Scale,
)
from .quantities import (
    Quantity as Quantity,
    format_quantity as format_quantity,
    parse_quantity as parse_quantity,
)
from .shares import parse_share as parse_share
from .shown import (
    Shown as Shown,
    Summary as Summary,
    angle_text as angle_text,
    greatest as greatest,
    with_u95 as with_u95,
)
from .texts import LARGEST_TEXT as LARGEST_TEXT, parse_toml as parse_toml, read_text as read_text
from .units import Dimension as Dimension, si_per_unit as si_per_unit
