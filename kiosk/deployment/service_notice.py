"""What systemd is told by the program it runs: that it is ready, and that it still draws.

The protocol of sd_notify(3): a datagram to the socket that NOTIFY_SOCKET names. WATCHDOG_USEC is the time
after which a silent program is ended and started again; it is told twice within it.
"""

import socket
from collections.abc import Callable, Mapping
from contextlib import suppress
from typing import Final

READY: Final = b"READY=1"
ALIVE: Final = b"WATCHDOG=1"
NS_PER_US: Final = 1_000


class ServiceNotice:
    """Called once a frame; tells nothing where nobody asked."""

    def __init__(self, send: Callable[[bytes], None] | None, every_ns: int | None) -> None:
        self._send, self._every_ns = send, every_ns
        self._ready = False
        self._told_ns = 0

    def frame(self, now_ns: int) -> None:
        """After a picture was shown."""
        if self._send is None:
            return
        if not self._ready:
            self._ready, self._told_ns = True, now_ns
            self._send(READY)
        elif self._every_ns is not None and now_ns - self._told_ns >= self._every_ns:
            self._told_ns = now_ns
            self._send(ALIVE)


def service_notice(environment: Mapping[str, str]) -> ServiceNotice:
    """To whoever the environment names: a path, or an abstract name that begins with @."""
    address, timeout_us = environment.get("NOTIFY_SOCKET", ""), environment.get("WATCHDOG_USEC", "")
    if not address.startswith(("/", "@")):
        return ServiceNotice(None, None)
    place = f"\0{address[1:]}" if address.startswith("@") else address
    every_ns = int(timeout_us) * NS_PER_US // 2 if timeout_us.isdecimal() else None
    return ServiceNotice(lambda message: _send(message, place), every_ns)


def _send(message: bytes, place: str) -> None:
    with suppress(OSError), socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM | socket.SOCK_CLOEXEC) as out:
        out.sendto(message, place)
