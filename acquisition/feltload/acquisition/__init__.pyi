from .certificates.assignment import (
    GivenCertificate as GivenCertificate,
)
from .certificates.assignment import (
    assign_certificates as assign_certificates,
)
from .certificates.certificate import (
    AnyCertificate as AnyCertificate,
)
from .certificates.certificate import (
    Attitude as Attitude,
)
from .certificates.certificate import (
    ClassResult as ClassResult,
)
from .certificates.certificate import (
    Environment as Environment,
)
from .certificates.certificate import (
    ForceCertificate as ForceCertificate,
)
from .certificates.certificate import (
    ForceReading as ForceReading,
)
from .certificates.certificate import (
    InertialCertificate as InertialCertificate,
)
from .certificates.certificate import (
    LowerLimit as LowerLimit,
)
from .certificates.certificate import (
    NoiseDensities as NoiseDensities,
)
from .certificates.certificate import (
    StepErrors as StepErrors,
)
from .certificates.certificate import (
    TurnRecord as TurnRecord,
)
from .certificates.certificate import (
    Uncertainty as Uncertainty,
)
from .certificates.certificate import (
    parse_certificate as parse_certificate,
)
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
from .links.devices import (
    Peripheral as Peripheral,
)
from .links.devices import (
    find_ports as find_ports,
)
from .links.devices import (
    peripherals as peripherals,
)
from .links.devices import (
    sample_port as sample_port,
)
from .links.devices import (
    serial_ports as serial_ports,
)
from .links.guess import (
    Guess as Guess,
)
from .links.guess import (
    guess_description as guess_description,
)
from .links.link import (
    Arrival as Arrival,
)
from .links.link import (
    LinkDown as LinkDown,
)
from .links.reconnection import (
    Reconnection as Reconnection,
)
from .recorder.channel_reader import (
    ChannelReader as ChannelReader,
)
from .recorder.interrupts import (
    stopped_by_interrupt as stopped_by_interrupt,
)
from .recorder.opening import (
    link_name as link_name,
)
from .recorder.opening import (
    link_opener as link_opener,
)
from .recorder.recorder import (
    Recorder as Recorder,
)
from .recorder.recorder import (
    record as record,
)
from .recording.marks import Mark as Mark
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
from .recording.streams import (
    GYRO_COLUMNS as GYRO_COLUMNS,
)
from .tables.csv_import import SENSORS as SENSORS
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
    "GYRO_COLUMNS",
    "SENSORS",
    "AnyCertificate",
    "Arrival",
    "Arrivals",
    "Attitude",
    "BleLink",
    "CertificateError",
    "ChannelReader",
    "ClassResult",
    "Decoded",
    "DescriptionError",
    "Environment",
    "FileLink",
    "ForceCertificate",
    "ForceReading",
    "GivenCertificate",
    "Guess",
    "InertialCertificate",
    "LinkDown",
    "LinkError",
    "LinkReason",
    "LowerLimit",
    "Mark",
    "NoiseDensities",
    "Peripheral",
    "Reconnection",
    "Recorder",
    "Recording",
    "RecordingError",
    "RecordingInfo",
    "RecordingStatus",
    "RecordingSummary",
    "RecordingWriter",
    "RigDescription",
    "SerialLink",
    "StepErrors",
    "StreamDescription",
    "StreamHealth",
    "StreamStatus",
    "TurnRecord",
    "Uncertainty",
    "assign_certificates",
    "decode",
    "export_recording",
    "find_ports",
    "guess_description",
    "import_csv",
    "link_name",
    "link_opener",
    "load_rig",
    "load_stream_description",
    "parse_certificate",
    "parse_columns",
    "parse_rig",
    "peripherals",
    "read_recording",
    "record",
    "sample_port",
    "serial_ports",
    "shipped_descriptions",
    "stopped_by_interrupt",
    "write_c3d",
]
