"""What went wrong with a Bluetooth LE connection, in one line and with a reason."""

from __future__ import annotations

from bleak.exc import (
    BleakBluetoothNotAvailableError,
    BleakBluetoothNotAvailableReason,
    BleakCharacteristicNotFoundError,
    BleakDBusError,
    BleakDeviceNotFoundError,
    BleakGATTProtocolError,
    BleakGATTProtocolErrorCode,
)

from feltload.acquisition.errors import LinkError, LinkReason

_UNAVAILABLE = {
    BleakBluetoothNotAvailableReason.NO_BLUETOOTH: (
        "this computer has no Bluetooth adapter",
        LinkReason.UNSUPPORTED,
        "plug one in, or use the sensor's cable",
    ),
    BleakBluetoothNotAvailableReason.NO_BLE_CENTRAL_ROLE: (
        "the Bluetooth adapter cannot connect to Bluetooth LE sensors",
        LinkReason.UNSUPPORTED,
        "use an adapter with Bluetooth 4.0 or later",
    ),
    BleakBluetoothNotAvailableReason.POWERED_OFF: (
        "Bluetooth is switched off",
        LinkReason.ADAPTER_OFF,
        "switch it on in the system's settings",
    ),
}
_DENIED = (
    "this program may not use Bluetooth",
    LinkReason.PERMISSION,
    "allow it in the system's privacy settings",
)
_REFUSED = (
    "the sensor refused to pair",
    LinkReason.REFUSED,
    "put it into pairing mode, or remove the old pairing on both sides and try again",
)
_NEEDS_PAIRING = (
    "the sensor sends only to a paired computer",
    LinkReason.REFUSED,
    "set `pair = true` for it in the rig file",
)
_SERVICE_GONE = (
    "the system's Bluetooth service is not running",
    LinkReason.SERVICE_GONE,
    "start it (on Linux: `systemctl start bluetooth`) and try again",
)
_NO_NOTIFICATIONS = (
    "the characteristic cannot notify",
    LinkReason.UNSUPPORTED,
    "name the one that sends the data; `feltload devices` lists them",
)
_LOST_WHILE_CONNECTING = (
    "the connection broke off while it was being made",
    LinkReason.LOST,
    "move the sensor closer and check its battery",
)

_DBUS = {
    "org.bluez.Error.AuthenticationFailed": _REFUSED,
    "org.bluez.Error.AuthenticationCanceled": _REFUSED,
    "org.bluez.Error.AuthenticationRejected": _REFUSED,
    "org.bluez.Error.AuthenticationTimeout": _REFUSED,
    "org.bluez.Error.NotAuthorized": _NEEDS_PAIRING,
    "org.bluez.Error.NotPermitted": _NEEDS_PAIRING,
    "org.bluez.Error.NotSupported": _NO_NOTIFICATIONS,
    "org.bluez.Error.NotReady": _UNAVAILABLE[BleakBluetoothNotAvailableReason.POWERED_OFF],
    "org.bluez.Error.InProgress": (
        "another program is using Bluetooth to connect or scan",
        LinkReason.BUSY,
        "close it and try again",
    ),
    "org.freedesktop.DBus.Error.ServiceUnknown": _SERVICE_GONE,
    "org.freedesktop.DBus.Error.NameHasNoOwner": _SERVICE_GONE,
    "org.freedesktop.DBus.Error.NoReply": _SERVICE_GONE,
    "org.freedesktop.DBus.Error.Disconnected": _SERVICE_GONE,
    "org.freedesktop.DBus.Error.AccessDenied": _DENIED,
    # The device object goes away with the peripheral.
    "org.freedesktop.DBus.Error.UnknownObject": _LOST_WHILE_CONNECTING,
    "org.bluez.Error.Failed": _LOST_WHILE_CONNECTING,
    "org.bluez.Error.NotConnected": _LOST_WHILE_CONNECTING,
    "org.bluez.Error.ConnectionAttemptFailed": _LOST_WHILE_CONNECTING,
}

_GATT_SECURITY = {
    BleakGATTProtocolErrorCode.INSUFFICIENT_AUTHENTICATION,
    BleakGATTProtocolErrorCode.INSUFFICIENT_AUTHORIZATION,
    BleakGATTProtocolErrorCode.INSUFFICIENT_ENCRYPTION,
    BleakGATTProtocolErrorCode.INSUFFICIENT_ENCRYPTION_KEY_SIZE,
}


def link_error(error: Exception, where: str) -> LinkError:
    """Tell what a failed scan or connection means.

    Parameters
    ----------
    error : Exception
        What bleak or its platform raised.
    where : str
        The sensor, as shown to a person.

    Returns
    -------
    LinkError
        One line with reason and remedy; raise it ``from`` the original.
    """
    known = _known(error)
    if known is None:
        text = " ".join(str(error).split()) or type(error).__name__
        known = (
            f"the Bluetooth connection failed ({text})",
            LinkReason.LOST,
            "switch the sensor off and on, and try again",
        )
    what, reason, remedy = known
    return LinkError(what, reason=reason, where=where, remedy=remedy)


def not_found(where: str, scanned_s: float) -> LinkError:
    """Make the error for a sensor that did not advertise during a scan of `scanned_s` seconds."""
    return LinkError(
        f"no such Bluetooth sensor was seen in {scanned_s:g} s",
        reason=LinkReason.NOT_FOUND,
        where=where,
        remedy="switch it on and bring it near; `feltload devices` lists those in reach",
    )


def connection_lost(where: str) -> LinkError:
    """Make the error for a connection that worked and then broke."""
    return LinkError(
        "the Bluetooth connection was lost",
        reason=LinkReason.LOST,
        where=where,
        remedy="bring the sensor near and check its battery",
    )


def _known(error: Exception) -> tuple[str, LinkReason, str] | None:
    match error:
        case BleakBluetoothNotAvailableError():
            return _UNAVAILABLE.get(error.reason, _DENIED)
        case BleakDeviceNotFoundError():
            return _LOST_WHILE_CONNECTING
        case BleakCharacteristicNotFoundError():
            return (
                f"the sensor has no characteristic {error.char_specifier}",
                LinkReason.UNSUPPORTED,
                "correct it in the rig file; `feltload devices` lists those of a sensor",
            )
        case BleakGATTProtocolError():
            return _NEEDS_PAIRING if error.code in _GATT_SECURITY else None
        case BleakDBusError():
            return _DBUS.get(error.dbus_error)
        case TimeoutError():
            return (
                "the sensor was seen, but did not answer",
                LinkReason.LOST,
                "switch it off and on; another phone or computer may hold its connection",
            )
        case PermissionError():
            return _DENIED
        # On Linux the way to the Bluetooth service is a socket; without it, there is no service.
        case OSError() | EOFError():
            return _SERVICE_GONE
        case _:
            return None
