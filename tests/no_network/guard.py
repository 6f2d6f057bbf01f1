"""A guard that refuses every connection and every look-up of a name in the processes of the suite."""

from __future__ import annotations

import socket
from typing import Any


class NetworkAsked(AssertionError):
    """Something wanted the network: the product needs none, and its tests neither."""


def refuse_network() -> None:
    """From now on a connection out of this process, or the look-up of a name, fails the test that asks for it.

    Sockets between processes of one machine (``AF_UNIX``, by which workers are started) are left alone.
    """
    local = getattr(socket, "AF_UNIX", None)

    def guarded(name: str) -> None:
        plain = getattr(socket.socket, name)

        def refusing(self: socket.socket, *args: Any) -> Any:
            if self.family != local:
                raise NetworkAsked(f"{name} to {args[-1]!r}")
            return plain(self, *args)

        setattr(socket.socket, name, refusing)

    def look_up(host: object, *args: object, **more: object) -> Any:
        raise NetworkAsked(f"look-up of {host!r}")

    for name in ("connect", "connect_ex", "sendto"):
        guarded(name)
    for name in ("getaddrinfo", "gethostbyname", "gethostbyname_ex", "create_connection"):
        setattr(socket, name, look_up)
