"""Sending an order by mail: plain text and HTML, the cast ticket with it."""

from __future__ import annotations

import smtplib
import ssl
from dataclasses import dataclass
from datetime import datetime
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime

from continuity.deliveries.outside import NotReachable, cut_off, cut_off_after, why_not

MAIL_PORTS = {"starttls": 587, "implicit": 465, "none": 25}
"""The ways of encrypting the connection, with the usual port of each."""

PIECE_SECONDS = 15.0
WHOLE_SECONDS = 60.0


@dataclass(frozen=True)
class MailServer:
    """``tls`` is "starttls", "implicit" or "none". ``sender`` is the address mail comes from."""

    host: str
    port: int
    sender: str
    tls: str = "starttls"
    user: str = ""
    password: str = ""

    @property
    def domain(self) -> str:
        return self.sender.rpartition("@")[2]


@dataclass(frozen=True)
class Mail:
    """``id`` names this message, ``thread`` the first one of the same order, None in that one itself."""

    id: str
    thread: str | None
    to: str
    subject: str
    text: str
    html: str
    written_at: datetime
    ticket: bytes | None


def message_of(mail: Mail, server: MailServer) -> EmailMessage:
    """The same bytes every time, but for the boundaries between its parts."""
    message = EmailMessage(policy=SMTP)
    message["From"] = server.sender
    message["To"] = mail.to
    message["Subject"] = mail.subject
    message["Date"] = format_datetime(mail.written_at)
    message["Message-ID"] = f"<{mail.id}@{server.domain}>"
    if mail.thread:
        message["In-Reply-To"] = message["References"] = f"<{mail.thread}@{server.domain}>"
    # Nobody's holiday answers are wanted.
    message["Auto-Submitted"] = "auto-generated"
    message.set_content(mail.text)
    message.add_alternative(mail.html, subtype="html")
    if mail.ticket is not None:
        message.add_attachment(mail.ticket, maintype="application", subtype="pdf", filename="cast-ticket.pdf")
    return message


def send(mail: Mail, server: MailServer, *, whole_seconds: float = WHOLE_SECONDS) -> None:
    """Returns when the mail server has taken it. Raises `NotReachable`."""
    message = message_of(mail, server)
    context = ssl.create_default_context()
    try:
        client = (
            smtplib.SMTP_SSL(server.host, server.port, timeout=PIECE_SECONDS, context=context)
            if server.tls == "implicit"
            else smtplib.SMTP(server.host, server.port, timeout=PIECE_SECONDS)
        )
        with cut_off_after(whole_seconds, lambda: cut_off(client.sock)):
            try:
                if server.tls == "starttls":
                    client.starttls(context=context)
                if server.user:
                    client.login(server.user, server.password)
                client.send_message(message, server.sender, [mail.to])
            finally:
                # It is taken or it is not; a farewell that fails changes nothing.
                client.close()
    except TimeoutError:
        raise NotReachable("The mail server did not answer in time.") from None
    except smtplib.SMTPRecipientsRefused as fault:
        code, words = next(iter(fault.recipients.values()))
        raise NotReachable(f"The mail server does not take mail to {mail.to}: {_said(code, words)}") from None
    except smtplib.SMTPResponseException as fault:
        raise NotReachable(
            f"The mail server refused it: {_said(fault.smtp_code, fault.smtp_error)}"
        ) from None
    except (OSError, smtplib.SMTPException, ValueError) as fault:
        raise NotReachable(f"The mail server could not be reached: {why_not(fault)}.") from None


def _said(code: int, words: bytes | str) -> str:
    text = words.decode(errors="replace") if isinstance(words, bytes) else words
    return f"{code} {' '.join(text.split())}"[:300]
