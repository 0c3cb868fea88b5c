"""Web push: RFC 8030 for the request, RFC 8291 for the encrypted body, RFC 8292 for who sends it."""

from __future__ import annotations

import base64
import hashlib
import time
from pathlib import Path
from urllib.parse import urlsplit

import http_ece  # type: ignore[import-untyped]
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec
from py_vapid import Vapid02  # type: ignore[import-untyped]

from continuity.whole_files import write_once

KEEP_SECONDS = 2 * 24 * 60 * 60
"""How long the push service keeps a message for a phone that is off."""

TOKEN_SECONDS = 12 * 60 * 60
"""How long a token that says who sends is good; RFC 8292, section 2, allows a day."""

RECORD = 4096
"""Bytes of one record, which is the whole body: RFC 8291, section 4, wants a single one."""


def from_base64url(text: str) -> bytes:
    """Raises `ValueError`. Padding may be there or not."""
    raw = text.rstrip("=")
    return base64.b64decode(raw + "=" * (-len(raw) % 4), altchars=b"-_", validate=True)


def to_base64url(raw: bytes) -> str:
    return base64.urlsafe_b64encode(raw).rstrip(b"=").decode()


def are_keys(public_key: str, auth_secret: str) -> bool:
    """Whether these are the keys of a subscription: a point of P-256, uncompressed, and sixteen bytes."""
    try:
        point = from_base64url(public_key)
        ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), point)
        return len(point) == 65 and len(from_base64url(auth_secret)) == 16
    except ValueError:
        return False


def encrypted(
    told: bytes,
    public_key: str,
    auth_secret: str,
    *,
    sender_key: ec.EllipticCurvePrivateKey | None = None,
    salt: bytes | None = None,
) -> bytes:
    """The body for a subscription (RFC 8291, aes128gcm). The sender's key and the salt are new for every
    message; giving them is for checking against the values that RFC prints."""
    body: bytes = http_ece.encrypt(
        told,
        salt=salt,
        private_key=sender_key or ec.generate_private_key(ec.SECP256R1()),
        dh=from_base64url(public_key),
        auth_secret=from_base64url(auth_secret),
        version="aes128gcm",
        rs=RECORD,
    )
    return body


def own_key(path: Path) -> Vapid02:
    """The key by which push services know this server again: made once, kept in the file at ``path``. A
    subscription is good with the key it was made for only."""
    if not path.exists():
        key = Vapid02()
        key.generate_keys()
        write_once(path, key.private_pem())
    return Vapid02.from_pem(path.read_bytes())


def public_key_of(key: Vapid02) -> str:
    """What a phone subscribes with."""
    return to_base64url(
        key.public_key.public_bytes(serialization.Encoding.X962, serialization.PublicFormat.UncompressedPoint)
    )


def headers_for(endpoint: str, key: Vapid02, contact: str, order: str) -> dict[str, str]:
    """The headers of a push message. ``contact`` is where the push service can complain (mailto: or https:).
    A newer message of the same order takes the place of one that has not been delivered yet (RFC 8030,
    section 5.4)."""
    parts = urlsplit(endpoint)
    claims = {
        "sub": contact,
        "aud": f"{parts.scheme}://{parts.netloc}",
        "exp": int(time.time()) + TOKEN_SECONDS,
    }
    return {
        "authorization": str(key.sign(claims)["Authorization"]),
        "content-encoding": "aes128gcm",
        "content-type": "application/octet-stream",
        "ttl": str(KEEP_SECONDS),
        "urgency": "high",
        "topic": to_base64url(hashlib.sha256(order.encode()).digest())[:32],
    }
