"""The test run itself: nothing may reach beyond this machine."""

from __future__ import annotations

import socket
import threading

import pytest
from pytest_socket import SocketConnectBlockedError


@pytest.mark.filterwarnings("ignore:A test tried to use socket")
def test_an_outside_address_is_blocked():
    # 192.0.2.0/24 is set aside for documents (RFC 5737): nothing listens there even if the guard is broken
    with socket.socket() as sock, pytest.raises(SocketConnectBlockedError):
        sock.connect(("192.0.2.1", 80))


def test_loopback_is_open():
    with socket.create_server(("127.0.0.1", 0)) as server:
        thread = threading.Thread(target=lambda: server.accept()[0].close())
        thread.start()
        with socket.create_connection(server.getsockname(), timeout=5) as client:
            assert client.recv(1) == b""
        thread.join(timeout=5)
