from .errors import (
    CertificateError as CertificateError,
)
from .errors import (
    DescriptionError as DescriptionError,
)
from .errors import (
    LinkError as LinkError,
)
from .errors import (
    LinkReason as LinkReason,
)
from .errors import (
    RecordingError as RecordingError,
)
from .links.guess import (
    Guess as Guess,
)
from .links.guess import (
    guess_description as guess_description,
)
from .recorder.recorder import (
    Recorder as Recorder,
)
from .recorder.recorder import (
    record as record,
)
from .recording.recording import (
    Mark as Mark,
)
from .recording.recording import (
    Recording as Recording,
)
from .recording.recording import (
    RecordingInfo as RecordingInfo,
)
from .recording.recording import (
    RecordingWriter as RecordingWriter,
)
from .recording.recording import (
    read_recording as read_recording,
)
from .recording.status import (
    RecordingStatus as RecordingStatus,
)
from .recording.status import (
    RecordingSummary as RecordingSummary,
)
from .recording.status import (
    StreamStatus as StreamStatus,
)
from .tables.csv_import import (
    import_csv as import_csv,
)
from .tables.csv_import import (
    parse_columns as parse_columns,
)
from .tables.export import (
    export_recording as export_recording,
)
from .tables.export import (
    write_c3d as write_c3d,
)
from .wire.arrivals import (
    Arrivals as Arrivals,
)
from .wire.decode import (
    Decoded as Decoded,
)
from .wire.decode import (
    decode as decode,
)
from .wire.description import (
    load_rig as load_rig,
)
from .wire.description import (
    load_stream_description as load_stream_description,
)
from .wire.description import (
    parse_rig as parse_rig,
)
from .wire.description import (
    shipped_descriptions as shipped_descriptions,
)
from .wire.health import (
    StreamHealth as StreamHealth,
)
from .wire.schema import (
    BleLink as BleLink,
)
from .wire.schema import (
    FileLink as FileLink,
)
from .wire.schema import (
    RigDescription as RigDescription,
)
from .wire.schema import (
    SerialLink as SerialLink,
)
from .wire.schema import (
    StreamDescription as StreamDescription,
)

__all__ = [
    "Arrivals",
    "BleLink",
    "CertificateError",
    "Decoded",
    "DescriptionError",
    "FileLink",
    "Guess",
    "LinkError",
    "LinkReason",
    "Mark",
    "Recorder",
    "Recording",
    "RecordingError",
    "RecordingInfo",
    "RecordingStatus",
    "RecordingSummary",
    "RecordingWriter",
    "RigDescription",
    "SerialLink",
    "StreamDescription",
    "StreamHealth",
    "StreamStatus",
    "decode",
    "export_recording",
    "guess_description",
    "import_csv",
    "load_rig",
    "load_stream_description",
    "parse_columns",
    "parse_rig",
    "read_recording",
    "record",
    "shipped_descriptions",
    "write_c3d",
]
