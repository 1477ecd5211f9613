from .constants import (
    STANDARD_GRAVITY_M_S2 as STANDARD_GRAVITY_M_S2,
)
from .errors import (
    FeltloadError as FeltloadError,
)
from .errors import (
    InputError as InputError,
)
from .errors import (
    QuantityError as QuantityError,
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

__all__ = [
    "STANDARD_GRAVITY_M_S2",
    "FeltloadError",
    "InputError",
    "Quantity",
    "QuantityError",
    "format_quantity",
    "parse_quantity",
]
