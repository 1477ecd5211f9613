from .built import built_lever as built_lever
from .hand_readings import (
    HandReadings as HandReadings,
    HandScaleErrors as HandScaleErrors,
    read_by_hand as read_by_hand,
)
from .holes import cut_recording as cut_recording, random_holes as random_holes, without as without
from .logger_files import write_logger_files as write_logger_files
from .machines.dynamics import Lever as Lever, LeverMass as LeverMass, MachineDynamics as MachineDynamics
from .machines.friction import Friction as Friction, TightSpot as TightSpot
from .machines.joint import Joint as Joint
from .people.capacity import Capacity as Capacity
from .people.partner import Partner as Partner
from .people.person import Person as Person
from .phone import (
    Browser as Browser,
    PhoneEvents as PhoneEvents,
    browser as browser,
    browser_names as browser_names,
    phone_events as phone_events,
    spoken as spoken,
    turned_by_hand as turned_by_hand,
)
from .scenarios import Scenario as Scenario, scenario as scenario, scenario_names as scenario_names
from .sensors.bench_cell import BenchCell as BenchCell, calibration_readings as calibration_readings
from .sensors.sensor_class import SensorSet as SensorSet, sensor_set as sensor_set
from .sensors.stalled_host import SentSamples as SentSamples, send_over_stalls as send_over_stalls
from .sensors.zero_drift import ZeroDrift as ZeroDrift
from .simulation import SimulatedRun as SimulatedRun, simulate as simulate
from .surveys import machine_toml as machine_toml, peg_moved as peg_moved
from .visits import Visit as Visit, campaign as campaign
