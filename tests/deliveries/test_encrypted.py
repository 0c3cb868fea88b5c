"""Encrypted connections to real servers: who cannot show a good certificate gets nothing."""

from __future__ import annotations

import ssl
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from typing import Any

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult
from cryptography.hazmat.primitives import serialization
from django.utils import timezone

from continuity.deliveries import mail
from continuity.deliveries.mail import Mail, MailServer
from continuity.deliveries.outside import NotReachable, post
from continuity.serving import authority
from tests.deliveries.receivers import HOST, HttpReceiver, MailReceiver


@pytest.fixture
def certificates(tmp_path: Path) -> authority.Certificates:
    return authority.ensure(tmp_path / "tls", [HOST])


@pytest.fixture
def encryption(certificates: authority.Certificates) -> ssl.SSLContext:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificates.server)
    return context


@pytest.fixture
def trusted(certificates: authority.Certificates, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The operator's machine trusts the authority, by the variable that OpenSSL reads."""
    file = tmp_path / "trusted.pem"
    file.write_bytes(certificates.authority.public_bytes(serialization.Encoding.PEM))
    monkeypatch.setenv("SSL_CERT_FILE", str(file))


@pytest.fixture
def receiver(encryption: ssl.SSLContext) -> Iterator[HttpReceiver]:
    found = HttpReceiver()

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            found.answer(self)

        def log_message(self, *_: Any) -> None:
            pass

    server = ThreadingHTTPServer((HOST, 0), Handler)
    server.daemon_threads = True
    server.handle_error = lambda *_: None  # type: ignore[method-assign]
    server.socket = encryption.wrap_socket(server.socket, server_side=True)
    found.url = f"https://{HOST}:{server.server_port}/orders"
    Thread(target=server.serve_forever, daemon=True).start()
    yield found
    server.shutdown()
    server.server_close()


@pytest.mark.usefixtures("trusted")
def test_a_webhook_with_a_good_certificate(receiver: HttpReceiver) -> None:
    assert post(receiver.url, b"{}", {"x-one": "1"}, private_allowed=True).status == 204
    assert receiver.taken[0].headers["x-one"] == "1"


def test_a_webhook_nobody_vouches_for(receiver: HttpReceiver) -> None:
    with pytest.raises(NotReachable, match="certificate"):
        post(receiver.url, b"{}", {}, private_allowed=True)
    assert receiver.received == []


@pytest.mark.usefixtures("trusted")
def test_a_webhook_with_the_certificate_of_another_name(receiver: HttpReceiver) -> None:
    url = receiver.url.replace(HOST, "workshop.invalid")
    with pytest.raises(NotReachable, match="certificate"):
        post(url, b"{}", {}, private_allowed=True, resolve=lambda *_: [HOST])
    assert receiver.received == []


def _mail() -> Mail:
    return Mail("1", None, "shop@workshop.example", "An order", "Text", "<p>Text</p>", timezone.now(), None)


@pytest.fixture
def mails(encryption: ssl.SSLContext) -> Iterator[tuple[MailReceiver, MailServer]]:
    """One that wants encryption first, and then a name and a password."""
    found = MailReceiver()

    def sign_in(server: Any, session: Any, envelope: Any, mechanism: str, data: Any) -> AuthResult:
        good = (data.login, data.password) == (b"shop", b"spirit and water 8")
        return AuthResult(success=good, handled=False)

    controller = Controller(
        found,
        hostname=HOST,
        port=_free_port(),
        tls_context=encryption,
        require_starttls=True,
        auth_required=True,
        authenticator=sign_in,
    )
    controller.start()
    server = MailServer(
        HOST, controller.port, "orders@production.example", "starttls", "shop", "spirit and water 8"
    )
    yield found, server
    controller.stop()


def _free_port() -> int:
    with ThreadingHTTPServer((HOST, 0), BaseHTTPRequestHandler) as free:
        return free.server_port


@pytest.mark.usefixtures("trusted")
def test_mail_goes_encrypted_and_signed_in(mails: tuple[MailReceiver, MailServer]) -> None:
    receiver, server = mails
    mail.send(_mail(), server)
    assert [message["Subject"] for message in receiver.taken] == ["An order"]


@pytest.mark.usefixtures("trusted")
def test_a_wrong_password_is_said(mails: tuple[MailReceiver, MailServer]) -> None:
    receiver, server = mails
    wrong = MailServer(server.host, server.port, server.sender, "starttls", "shop", "wrong")
    with pytest.raises(NotReachable, match="refused it: 535"):
        mail.send(_mail(), wrong)
    assert receiver.taken == []


def test_no_password_is_told_to_a_mail_server_nobody_vouches_for(
    mails: tuple[MailReceiver, MailServer],
) -> None:
    receiver, server = mails
    with pytest.raises(NotReachable, match="its certificate is not good"):
        mail.send(_mail(), server)
    assert receiver.taken == []


def test_a_mail_server_without_encryption_gets_nothing_when_it_is_asked_for() -> None:
    plain = MailReceiver()
    plain.start()
    try:
        server = MailServer(HOST, plain.port, "orders@production.example", "starttls")
        with pytest.raises(NotReachable, match="an encrypted connection"):
            mail.send(_mail(), server)
    finally:
        plain.stop()
    assert plain.taken == []
