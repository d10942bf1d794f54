"""A weather service on 127.0.0.1 that misbehaves to order: real sockets, so that transport faults are
real."""

from __future__ import annotations

import gzip
import socket
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from types import TracebackType
from urllib.parse import parse_qs, urlsplit


@dataclass(frozen=True)
class Reply:
    """What to answer. ``cut_at`` announces the whole body and sends only so many bytes of it; ``drip_s``
    waits between single bytes; ``silent_s`` waits before anything is said; ``slam`` closes without a word."""

    body: bytes | str = b""
    status: int = 200
    content_type: str = "application/json; charset=utf-8"
    headers: Mapping[str, str] = field(default_factory=dict)
    cut_at: int | None = None
    drip_s: float = 0.0
    silent_s: float = 0.0
    slam: bool = False
    chunked: bool = False
    squeeze: bool = False  # gzip the body

    def payload(self) -> bytes:
        data = self.body.encode() if isinstance(self.body, str) else self.body
        return gzip.compress(data) if self.squeeze else data


@dataclass(frozen=True)
class Asked:
    """One request as the server saw it."""

    method: str
    path: str
    query: Mapping[str, str]
    headers: Mapping[str, str]

    @property
    def ids(self) -> list[str]:
        return self.query["ids"].split(",")


Answerer = Callable[[Asked], Reply]


class Loopback:
    """``with Loopback(reply_or_list_or_function) as server``: a list is answered in turn, its last for
    ever."""

    def __init__(self, answer: Reply | list[Reply] | Answerer) -> None:
        self.asked: list[Asked] = []
        self._answer = answer
        self._lock = threading.Lock()
        self._stop = threading.Event()
        outer = self

        class Handler(BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def do_GET(self) -> None:
                outer._serve(self)

            do_POST = do_PUT = do_HEAD = do_GET

            def log_message(self, *_: object) -> None:
                """Quiet."""

        self._server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self._server.daemon_threads = True
        self._server.handle_error = lambda *_: None  # type: ignore[method-assign]  # clients hang up on purpose
        self._thread = threading.Thread(target=self._server.serve_forever, kwargs={"poll_interval": 0.01})

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self._server.server_address[1]}"

    def __enter__(self) -> Loopback:
        self._thread.start()
        return self

    def __exit__(self, *_: type[BaseException] | BaseException | TracebackType | None) -> None:
        self._stop.set()
        self._server.shutdown()
        self._thread.join(5)
        self._server.server_close()

    def _next(self, asked: Asked) -> Reply:
        with self._lock:
            self.asked.append(asked)
            if isinstance(self._answer, list):
                return self._answer.pop(0) if len(self._answer) > 1 else self._answer[0]
        return self._answer if isinstance(self._answer, Reply) else self._answer(asked)

    def _serve(self, handler: BaseHTTPRequestHandler) -> None:
        parts = urlsplit(handler.path)
        query = {k: v[0] for k, v in parse_qs(parts.query).items()}
        headers = {k.lower(): v for k, v in handler.headers.items()}
        reply = self._next(Asked(handler.command, parts.path, query, headers))
        self._stop.wait(reply.silent_s)
        handler.close_connection = True
        if reply.slam:
            handler.connection.shutdown(socket.SHUT_RDWR)
            return
        data = reply.payload()
        handler.send_response(reply.status)
        handler.send_header("Connection", "close")
        for name, value in reply.headers.items():
            handler.send_header(name, value)
        if reply.content_type:
            handler.send_header("Content-Type", reply.content_type)
        if reply.squeeze:
            handler.send_header("Content-Encoding", "gzip")
        if reply.chunked:
            handler.send_header("Transfer-Encoding", "chunked")
        elif reply.status != 204:
            handler.send_header("Content-Length", str(len(data)))
        handler.end_headers()
        if reply.chunked:
            for i in range(0, len(data), 65_536):
                piece = data[i : i + 65_536]
                handler.wfile.write(b"%x\r\n%s\r\n" % (len(piece), piece))
            handler.wfile.write(b"0\r\n\r\n")
        elif reply.drip_s:
            for byte in data:
                if self._stop.is_set():
                    return
                handler.wfile.write(bytes([byte]))
                handler.wfile.flush()
                time.sleep(reply.drip_s)
        else:
            handler.wfile.write(data if reply.cut_at is None else data[: reply.cut_at])


def unused_url() -> str:
    """An address on this machine where nothing listens."""
    with socket.socket() as sock:
        sock.bind(("127.0.0.1", 0))
        return f"http://127.0.0.1:{sock.getsockname()[1]}"
