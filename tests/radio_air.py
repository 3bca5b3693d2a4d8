"""Radio without a radio: Bluetooth stacks in software that hear each other, a board's among them.

`Air` holds what all stacks share. `BoardStack` is the stack of the board's program, which runs in
MicroPython and reaches it over a socket (firmware/rockboard/boards/unix_radio.py). ATT, GATT, MTU
and connections are real, by bumble; what is missing is radio: fading, intervals, interference.
"""

import asyncio
import contextlib
import dataclasses
import itertools
import struct
import tempfile
from pathlib import Path

import bleak
from bumble import core, hci
from bumble.controller import Controller
from bumble.device import AdvertisingType, Device
from bumble.gatt import Characteristic, CharacteristicValue, Service
from bumble.host import Host
from bumble.link import LocalLink
from bumble.transport.common import AsyncPipeSink

import radio_bleak
from rockhold.links.radio_loop import LOOP

_LIMIT_S = 15.0
_SUPERVISION_TIMEOUT = 0x08
_HEAD = struct.Struct("<BHH")
_SERVICES, _ADVERTISE, _NOTIFY, _DISCONNECT, _ASK_MTU, _PREFER_MTU = range(6)
_CONNECTED, _DISCONNECTED, _WRITTEN, _MTU, _LEFT = range(5)


class AirController(Controller):
    """A controller as chips have them today: long packets, and scan responses of their own."""

    le_acl_data_packet_length = 251
    acl_data_packet_length = 251
    air = None

    def send_hci_packet(self, packet):
        """Put the scan response into its report, where bumble repeats the advertisement."""
        reports = getattr(packet, "reports", None)
        kind = hci.HCI_LE_Extended_Advertising_Report_Event
        if isinstance(packet, kind) and reports[0].event_type == kind.EventType.SCAN_RESPONSE:
            data = self.air.responses.get(str(reports[0].address))
            if not data:
                return
            packet = kind([dataclasses.replace(reports[0], data=data)])
        super().send_hci_packet(packet)


class Air:
    """Everything within reach of each other; as a context, bleak uses it instead of the system.

    Args:
        mtu: What a host asks for.
    """

    def __init__(self, mtu=517):
        self.mtu = mtu
        self.link = LocalLink()
        self.responses = {}
        self.hosts = {}
        self.host = None  # the stack that bleak uses
        self.stacks = []
        self._numbers = itertools.count(1)
        self._folder = tempfile.TemporaryDirectory(prefix="rockhold-air-")
        self._servers = []

    def __enter__(self):
        self.run(self._start())
        self._bleak = (
            bleak.get_platform_scanner_backend_type,
            bleak.get_platform_client_backend_type,
        )
        bleak.get_platform_scanner_backend_type = lambda: (radio_bleak.scanner_on(self), "air")
        bleak.get_platform_client_backend_type = lambda: (radio_bleak.client_on(self), "air")
        return self

    def __exit__(self, *error):
        (
            bleak.get_platform_scanner_backend_type,
            bleak.get_platform_client_backend_type,
        ) = self._bleak
        self.run(self._stop())
        self._folder.cleanup()

    def run(self, work):
        """Run a coroutine where all stacks live."""
        return LOOP.call(work, _LIMIT_S)

    async def _start(self):
        self.connecting = asyncio.Lock()
        self.host = self.hosts["host"] = await self.device("host")

    async def _stop(self):
        for server in self._servers:
            server.close()
        for stack in self.stacks:
            stack.writer.close()
        await asyncio.sleep(0.05)

    async def device(self, name):
        """Return a new stack, switched on."""
        controller = AirController(name, link=self.link, public_address="00:00:00:00:00:00")
        controller.air = self
        address = hci.Address(f"C0:00:00:00:00:{next(self._numbers):02X}")
        device = Device(
            name=name, address=address, host=Host(controller, AsyncPipeSink(controller))
        )
        device.controller = controller
        await device.power_on()
        return device

    @contextlib.contextmanager
    def another_host(self, name="stranger"):
        """Let bleak use another computer's radio meanwhile."""
        if name not in self.hosts:
            self.hosts[name] = self.run(self.device(name))
        before, self.host = self.host, self.hosts[name]
        try:
            yield
        finally:
            self.host = before

    def place_for_board(self):
        """Return the path of a socket where a board finds its stack."""
        path = str(Path(self._folder.name) / str(len(self._servers)))
        self._servers.append(self.run(self._serve(path)))
        return path

    async def _serve(self, path):
        async def come(reader, writer):
            stack = BoardStack(self, reader, writer)
            self.stacks.append(stack)
            with contextlib.suppress(asyncio.IncompleteReadError, ConnectionError):
                await stack.serve()
            await stack.vanish()

        return await asyncio.start_unix_server(come, path)

    @property
    def stack(self):
        """Return the stack of the board that came last."""
        return self.stacks[-1]


class BoardStack:
    """A board's stack, and what can go wrong with it.

    Attributes:
        most_mtu: The largest MTU it agrees to; None for what the board prefers.
        doubled: Whether every notification arrives twice.
        held: Whether notifications stay in the queue.
        drops_at_once: How many connections break while they are being set up.
        notifications: How many have left.
        lengths: How long each was.
    """

    most_mtu = None

    def __init__(self, air, reader, writer):
        self.air = air
        self.reader = reader
        self.writer = writer
        self.doubled = False
        self.held = False
        self.drops_at_once = 0
        self.notifications = 0
        self.lengths = []
        self._away = False
        self._said = None
        self._queue = []
        self._device = None
        self._connections = {}
        self._handles = itertools.count()

    async def serve(self):
        """Do what the board asks, until it is gone."""
        self._device = await self.air.device("board")
        self._device.on("connection", self._connected)
        while True:
            kind, connection, size = _HEAD.unpack(await self.reader.readexactly(_HEAD.size))
            data = await self.reader.readexactly(size)
            if kind == _SERVICES:
                self._add_services(*data.decode().split())
            elif kind == _PREFER_MTU:
                self._device.gatt_server.max_mtu = self.most_mtu or struct.unpack("<H", data)[0]
            elif kind == _ADVERTISE:
                await self._advertise(data[0], data[2 : 2 + data[1]], data[2 + data[1] :])
            elif kind == _NOTIFY:
                self._queue.append((connection, data))
                await self.let_go()
            elif kind == _DISCONNECT and connection in self._connections:
                with contextlib.suppress(core.BaseBumbleError):
                    await self._connections[connection].disconnect()

    def _tell(self, kind, connection, data=b""):
        self.writer.write(_HEAD.pack(kind, connection, len(data)) + data)

    def _add_services(self, service, to_host, to_board):
        properties = Characteristic.Properties
        self._out = Characteristic(
            to_host, properties.NOTIFY, Characteristic.Permissions.READABLE, b""
        )
        write = Characteristic(
            to_board,
            properties.WRITE | properties.WRITE_WITHOUT_RESPONSE,
            Characteristic.WRITEABLE,
            CharacteristicValue(write=self._written),
        )
        self._device.add_service(Service(service, [self._out, write]))

    async def _advertise(self, connectable, data, response):
        self._said = (connectable, data, response)
        if self._away:
            return
        self.air.responses[str(self._device.random_address)] = response
        kind = AdvertisingType.UNDIRECTED_CONNECTABLE_SCANNABLE
        if not connectable:
            kind = AdvertisingType.UNDIRECTED_SCANNABLE
        await self._device.start_advertising(
            kind,
            advertising_data=data,
            scan_response_data=response,
            advertising_interval_min=50,
            advertising_interval_max=50,
        )

    def _connected(self, connection):
        handle = next(self._handles)
        self._connections[handle] = connection

        def gone(reason):
            self._connections.pop(handle, None)
            self._tell(_DISCONNECTED, handle)

        connection.on("disconnection", gone)
        connection.on(
            "connection_att_mtu_update",
            lambda: self._tell(_MTU, handle, struct.pack("<H", connection.att_mtu)),
        )
        self._tell(_CONNECTED, handle)
        if self.drops_at_once:
            self.drops_at_once -= 1
            self.lose()

    def _written(self, connection, value):
        for handle, known in self._connections.items():
            if known is connection:
                self._tell(_WRITTEN, handle, bytes(value))

    @property
    def waiting(self):
        """Return how many notifications are in the queue."""
        return len(self._queue)

    async def let_go(self):
        """Send what is in the queue."""
        while self._queue and not self.held:
            handle, data = self._queue.pop(0)
            connection = self._connections.get(handle)
            if connection is not None:
                self.notifications += 1
                self.lengths.append(len(data))
                for _ in range(2 if self.doubled else 1):
                    await self._device.gatt_server.notify_subscriber(connection, self._out, data)
            self._tell(_LEFT, handle)

    def lose(self):
        """Let every connection break as it does out of reach: no goodbye, both ends time out."""
        mine = self._device.controller
        for controller in list(self.air.link.controllers):
            for connection in list(controller.le_connections.values()):
                if controller is mine or connection.peer_address == mine.random_address:
                    controller.on_le_disconnected(connection, _SUPERVISION_TIMEOUT)

    async def go(self):
        """Go out of reach."""
        self._away = True
        self.lose()
        await self._device.stop_advertising()

    async def come_back(self):
        """Be within reach again."""
        self._away = False
        await self._advertise(*self._said)

    async def vanish(self):
        """Be out of reach for good."""
        self.lose()
        with contextlib.suppress(core.BaseBumbleError):
            await self._device.stop_advertising()
        self.air.link.controllers.discard(self._device.controller)
        self.writer.close()
