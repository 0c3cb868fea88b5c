"""Posting an order to a webhook, signed as the Standard Webhooks specification says.

Three headers go with the body: ``webhook-id``, by which a receiver drops doubles and which stays the same
however often it is sent; ``webhook-timestamp``, the moment of this attempt in seconds since 1970; and
``webhook-signature``, ``v1,`` and the base64 of an HMAC-SHA256 over ``id.timestamp.body`` with the secret.

For who receives it:

- Check the signature over the body's bytes before anything else, and refuse a timestamp more than five
  minutes from your clock, so that nobody can play an old message again. `verified` does both, as does
  ``Webhook(secret).verify(body, headers)`` of the specification's own library.
- Answer with any 2xx status within half a minute, and drop a ``webhook-id`` that you have had.
- ``data.sequence`` counts up within ``data.order``. ``type`` is ``order.`` and the new state (``asked_for``,
  ``taken_on``, ``casting``, ``sent``, ``arrived``, ``called_off``), or ``order.question``,
  ``order.answered``, ``order.changed``.
"""

from __future__ import annotations

import base64
import datetime
import secrets
from collections.abc import Mapping
from typing import Any

from standardwebhooks.webhooks import Webhook, WebhookVerificationError

PREFIX = "whsec_"
SECRET_BYTES = 32


class NotGenuine(Exception):
    """The message was not signed with this secret, or not within the last five minutes."""


def new_secret() -> str:
    """A secret as the specification writes it."""
    return PREFIX + base64.b64encode(secrets.token_bytes(SECRET_BYTES)).decode()


def is_secret(text: str) -> bool:
    """Whether this is a secret of 24 to 64 bytes, written as the specification says."""
    if not text.startswith(PREFIX):
        return False
    try:
        return 24 <= len(base64.b64decode(text.removeprefix(PREFIX), validate=True)) <= 64
    except ValueError:
        return False


def signed_headers(secret: str, message_id: str, body: str, at: datetime.datetime) -> dict[str, str]:
    """The headers that go with ``body``. ``at`` is aware."""
    return {
        "content-type": "application/json",
        "user-agent": "continuity",
        "webhook-id": message_id,
        "webhook-timestamp": str(int(at.timestamp())),
        "webhook-signature": Webhook(secret).sign(message_id, at.astimezone(datetime.UTC), body),
    }


def verified(secret: str, body: bytes | str, headers: Mapping[str, str]) -> Any:
    """For receivers: the message in ``body``, when it is genuine and new. Raises `NotGenuine`."""
    try:
        return Webhook(secret).verify(body, dict(headers))
    except (WebhookVerificationError, ValueError) as fault:
        raise NotGenuine(str(fault)) from None
