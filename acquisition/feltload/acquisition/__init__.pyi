from .certificates.assignment import (
    GivenCertificate as GivenCertificate,
    assign_certificates as assign_certificates,
)
from .certificates.certificate import (
    AnyCertificate as AnyCertificate,
    Attitude as Attitude,
    ClassResult as ClassResult,
    DegreeTest as DegreeTest,
    Environment as Environment,
    ForceCertificate as ForceCertificate,
    ForceReading as ForceReading,
    InertialCertificate as InertialCertificate,
    LowerLimit as LowerLimit,
    NoiseDensities as NoiseDensities,
    StepErrors as StepErrors,
    TurnRecord as TurnRecord,
    Uncertainty as Uncertainty,
    certificate_json as certificate_json,
    parse_certificate as parse_certificate,
)
from .certificates.head import StoredFact as StoredFact
from .certificates.signature import (
    key_fingerprint as key_fingerprint,
    new_signing_key as new_signing_key,
    read_signing_key as read_signing_key,
    signed_text as signed_text,
)
from .errors import (
    CertificateError as CertificateError,
    DescriptionError as DescriptionError,
    LinkError as LinkError,
    LinkReason as LinkReason,
    RecordingError as RecordingError,
)
from .guessing.facts import GuessFact as GuessFact
from .guessing.guess import (
    Guess as Guess,
    GuessedStream as GuessedStream,
    guess_description as guess_description,
)
from .guessing.listening import parse_link as parse_link, sample_link as sample_link
from .guessing.rig_text import rig_text as rig_text
from .links.devices import (
    Peripheral as Peripheral,
    find_ports as find_ports,
    notifying_characteristics as notifying_characteristics,
    peripherals as peripherals,
    serial_ports as serial_ports,
)
from .links.link import Arrival as Arrival, LinkDown as LinkDown
from .links.lsl import LslOutlet as LslOutlet, lsl_outlets as lsl_outlets
from .links.reconnection import Reconnection as Reconnection
from .loggers.importer import SENSORS as SENSORS, import_csv as import_csv
from .loggers.names import parse_columns as parse_columns
from .phones.convention import MotionConvention as MotionConvention
from .phones.facts import PhoneFact as PhoneFact
from .phones.recognition import Recognition as Recognition, ToldMotion as ToldMotion, recognise as recognise
from .recorder.channel_reader import ChannelReader as ChannelReader
from .recorder.facts import LinkFact as LinkFact
from .recorder.interrupts import stopped_by_interrupt as stopped_by_interrupt
from .recorder.live_samples import LiveSamples as LiveSamples
from .recorder.live_streams import LiveStreams as LiveStreams
from .recorder.opening import link_name as link_name, link_opener as link_opener
from .recorder.record import record as record
from .recorder.recorder import Recorder as Recorder, RecorderListener as RecorderListener
from .recording.facts import DamageFact as DamageFact
from .recording.info import RecordingInfo as RecordingInfo
from .recording.marks import Mark as Mark
from .recording.recording import Recording as Recording, read_recording as read_recording
from .recording.status import (
    RecordingStatus as RecordingStatus,
    RecordingSummary as RecordingSummary,
    StreamStatus as StreamStatus,
)
from .recording.streams import GYRO_COLUMNS as GYRO_COLUMNS
from .recording.writer import RecordingWriter as RecordingWriter
from .tables.bids import (
    BidsChannel as BidsChannel,
    BidsEvent as BidsEvent,
    BidsNames as BidsNames,
    BidsRecording as BidsRecording,
    bids_files as bids_files,
    write_bids as write_bids,
)
from .tables.c3d import (
    AnalogChannel as AnalogChannel,
    C3dEvent as C3dEvent,
    C3dSession as C3dSession,
    write_c3d as write_c3d,
)
from .tables.export import export_recording as export_recording, write_table as write_table
from .wire.arrivals import Arrivals as Arrivals
from .wire.counting.arrivals_only import recount as recount
from .wire.decode import Decoded as Decoded, decode as decode
from .wire.descriptions.link_config import (
    BleLinkConfig as BleLinkConfig,
    LinkConfig as LinkConfig,
    SerialLinkConfig as SerialLinkConfig,
)
from .wire.descriptions.reading import (
    load_rig as load_rig,
    load_stream_description as load_stream_description,
    shipped_descriptions as shipped_descriptions,
)
from .wire.descriptions.schema import RigDescription as RigDescription, StreamDescription as StreamDescription
from .wire.facts import HealthFact as HealthFact
from .wire.health import StreamHealth as StreamHealth
