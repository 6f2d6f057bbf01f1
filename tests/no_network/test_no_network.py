"""The suite runs under a guard that refuses connections; ``make no-network`` takes the network away altogether."""

from __future__ import annotations

import socket

import pytest

from pipeline.cli.app import app
from tests.no_network.__main__ import COMMANDS
from tests.no_network.guard import NetworkAsked


def test_a_connection_fails_the_test_that_asks_for_it() -> None:
    """Guards against a guard that nobody put up: a library that fetches a font would pass every test here."""
    with socket.socket() as one:
        with pytest.raises(NetworkAsked, match=r"connect to \('127.0.0.1', 9\)"):
            one.connect(("127.0.0.1", 9))
        with pytest.raises(NetworkAsked, match="connect_ex"):
            one.connect_ex(("127.0.0.1", 9))
    with socket.socket(type=socket.SOCK_DGRAM) as one, pytest.raises(NetworkAsked, match="sendto"):
        one.sendto(b"x", ("127.0.0.1", 9))
    for call in (socket.getaddrinfo, socket.create_connection):
        with pytest.raises(NetworkAsked, match="look-up of"):
            call(("localhost", 80), 80)  # type: ignore[operator]


def test_every_command_is_run_without_a_network() -> None:
    """A command that came later and asks some service would be found by nobody."""
    run = {words.split()[0] for words in COMMANDS} | {"demo"}
    assert run == {one.name for one in app.registered_commands}
