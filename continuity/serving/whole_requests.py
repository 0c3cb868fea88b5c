"""Hands the application only requests that have arrived whole.

A photo from a phone on set may take minutes to arrive. Were the application called at its first byte, each
such photo would hold one of the few threads that the application runs in, and everybody else would wait. So
bodies are taken in by the many threads of the server, and the application runs in a few threads of its own.
Each of these keeps its connection to the database, and those that write wait for each other.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from tempfile import SpooledTemporaryFile
from typing import IO, TYPE_CHECKING, Any

if TYPE_CHECKING:
    from wsgiref.types import StartResponse, WSGIApplication, WSGIEnvironment

CHUNK = 65_536
IN_MEMORY = 1_000_000
"""Bytes of a body that are kept in memory; what is longer goes through a temporary file."""


class NotWhole(Exception):
    """A body that is not to be handed on, and what to answer: an error in the shape that all errors have."""

    def __init__(self, status: str, code: str, message: str, *, retryable: bool) -> None:
        super().__init__(message)
        self.status = status
        self.body = {"code": code, "message": message, "retryable": retryable}


@dataclass(frozen=True)
class Answer:
    """The application's answer. `content` is ready, or a file that is read as it is sent."""

    status: str
    headers: list[tuple[str, str]]
    content: Iterable[bytes]


class WholeRequests:
    """A WSGI application around another one.

    `threads` is how many requests the inner application is working on at a time in this process. A body of
    more than `largest_body` bytes is answered with 413 and is not read. Uploads of files go one after the
    other through a thread of their own: whoever logs an application does not wait behind a burst of photos.
    """

    def __init__(self, application: WSGIApplication, threads: int, largest_body: int) -> None:
        self.application = application
        self.largest_body = largest_body
        self.threads = ThreadPoolExecutor(threads, thread_name_prefix="application")
        self.uploads = ThreadPoolExecutor(1, thread_name_prefix="uploads")

    def __call__(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        try:
            length, body = self._take_in(environ)
        except NotWhole as refused:
            content = json.dumps(refused.body).encode()
            headers = [("Content-Type", "application/json"), ("Content-Length", str(len(content)))]
            # Whatever of the body is still to come must not be taken for the next request.
            start_response(refused.status, [*headers, ("Connection", "close")])
            return [content]
        environ["CONTENT_LENGTH"] = str(length)
        environ["wsgi.input"] = body
        threads = self.uploads if environ["REQUEST_METHOD"] == "PUT" else self.threads
        answer = threads.submit(self._answer, environ).result()
        start_response(answer.status, answer.headers)
        return answer.content

    def _take_in(self, environ: WSGIEnvironment) -> tuple[int, IO[bytes]]:
        """The body and its length in bytes. Raises NotWhole."""
        announced = environ.get("CONTENT_LENGTH") or None
        if announced is not None and int(announced) > self.largest_body:
            raise self._too_large()
        body: IO[bytes] = SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115 - it is handed on
        length = 0
        while chunk := environ["wsgi.input"].read(CHUNK):
            length += len(chunk)
            if length > self.largest_body:
                raise self._too_large()
            body.write(chunk)
        if announced is not None and length != int(announced):
            message = "The connection broke before all had arrived."
            raise NotWhole("400 Bad Request", "body_cut_off", message, retryable=True)
        body.seek(0)
        return length, body

    def _too_large(self) -> NotWhole:
        megabytes = self.largest_body // 1_000_000
        message = f"At most {megabytes} MB can be sent at once."
        return NotWhole("413 Content Too Large", "too_large", message, retryable=False)

    def _answer(self, environ: WSGIEnvironment) -> Answer:
        begun: list[tuple[str, list[tuple[str, str]]]] = []

        def start_response(status: str, headers: list[tuple[str, str]], exc_info: Any = None) -> Any:
            begun.append((status, headers))

        content = self.application(environ, start_response)
        if not getattr(content, "streaming", False):
            content = self._finished(content)
        status, headers = begun[-1]
        return Answer(status, headers, content)

    @staticmethod
    def _finished(content: Iterable[bytes]) -> list[bytes]:
        try:
            return list(content)
        finally:
            # Here, not in the server's thread: closing ends the use of this thread's database connection.
            close = getattr(content, "close", None)
            if close is not None:
                close()
