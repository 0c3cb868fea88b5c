"""Signatures and push bodies against the values that their specifications print."""

from __future__ import annotations

import base64
import datetime
import hashlib
import hmac
import json
import stat
import time
from pathlib import Path
from typing import Any

import http_ece  # type: ignore[import-untyped]
import pytest
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature

from continuity.deliveries import push, webhook
from continuity.deliveries.models import Destination, Outgoing
from continuity.deliveries.sender import deliver_once
from tests.deliveries.receivers import HttpReceiver
from tests.deliveries.sending import raise_order, step
from tests.shop.season import Season

Json = dict[str, Any]

# -- Standard Webhooks: https://github.com/standard-webhooks/standard-webhooks, libraries/python/tests/
# test_webhooks.py, test_sign_function (as read there) -----------------------------------------------------

SECRET = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"
MESSAGE_ID = "msg_p5jXN8AQM9LWM0D4loKWxJek"
SIGNED_AT = datetime.datetime.fromtimestamp(1614265330, datetime.UTC)
BODY = '{"test": 2432232314}'
SIGNATURE = "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="


def test_the_signature_that_the_specification_gives() -> None:
    headers = webhook.signed_headers(SECRET, MESSAGE_ID, BODY, SIGNED_AT)
    assert headers["webhook-id"] == MESSAGE_ID
    assert headers["webhook-timestamp"] == "1614265330"
    assert headers["webhook-signature"] == SIGNATURE


def test_the_same_by_hand() -> None:
    """The specification's words: HMAC-SHA256 over id.timestamp.body with the bytes of the secret."""
    key = base64.b64decode(SECRET.removeprefix("whsec_"))
    signed = hmac.new(key, f"{MESSAGE_ID}.1614265330.{BODY}".encode(), hashlib.sha256).digest()
    assert f"v1,{base64.b64encode(signed).decode()}" == SIGNATURE


def test_summer_time_and_other_zones_change_nothing() -> None:
    elsewhere = SIGNED_AT.astimezone(datetime.timezone(datetime.timedelta(hours=-7)))
    assert webhook.signed_headers(SECRET, MESSAGE_ID, BODY, elsewhere)["webhook-signature"] == SIGNATURE


def _fresh(seconds: float = 0) -> dict[str, str]:
    at = datetime.datetime.now(datetime.UTC) + datetime.timedelta(seconds=seconds)
    return webhook.signed_headers(SECRET, MESSAGE_ID, BODY, at)


def test_a_genuine_message_is_read() -> None:
    assert webhook.verified(SECRET, BODY, _fresh()) == {"test": 2432232314}
    assert webhook.verified(SECRET, BODY.encode(), _fresh(-299)) == {"test": 2432232314}
    assert webhook.verified(SECRET, BODY, _fresh(298)) == {"test": 2432232314}


# The negative cases of the same file: a changed signature, a missing header, five minutes and a second too
# old or too new. And those constructed here: another body, id, secret, no version, nothing that can be read.
NOT_GENUINE: dict[str, dict[str, str | None]] = {
    "changed signature": {"webhook-signature": SIGNATURE[:-5] + "OA="},
    "no id": {"webhook-id": None},
    "no timestamp": {"webhook-timestamp": None},
    "no signature": {"webhook-signature": None},
    "another id": {"webhook-id": "msg_other"},
    "not a time": {"webhook-timestamp": "yesterday"},
    "another version only": {"webhook-signature": SIGNATURE.replace("v1,", "v2,")},
    "no version": {"webhook-signature": "g0hM9SsE"},
    "not base64": {"webhook-signature": "v1,!"},
}


@pytest.mark.parametrize("case", NOT_GENUINE)
def test_what_is_not_genuine(case: str) -> None:
    headers = {**_fresh(), **NOT_GENUINE[case]}
    given = {name: value for name, value in headers.items() if value is not None}
    with pytest.raises(webhook.NotGenuine):
        webhook.verified(SECRET, BODY, given)


@pytest.mark.parametrize("seconds", [-301, 302, -86_400, 86_400])
def test_an_old_message_is_not_played_again(seconds: int) -> None:
    with pytest.raises(webhook.NotGenuine):
        webhook.verified(SECRET, BODY, _fresh(seconds))


def test_another_body_or_secret() -> None:
    for secret, body in ((SECRET, BODY + " "), (webhook.new_secret(), BODY)):
        with pytest.raises(webhook.NotGenuine):
            webhook.verified(secret, body, _fresh())


def test_one_good_signature_among_several() -> None:
    headers = _fresh()
    good = headers["webhook-signature"]
    headers["webhook-signature"] = f"v1,{base64.b64encode(b'other').decode()} v2,later {good}"
    assert webhook.verified(SECRET, BODY, headers) == {"test": 2432232314}


def test_a_secret_is_written_as_the_specification_says() -> None:
    secrets = {webhook.new_secret() for _ in range(20)}
    assert len(secrets) == 20
    assert all(webhook.is_secret(secret) for secret in secrets)
    assert webhook.is_secret(SECRET)
    short = "whsec_" + base64.b64encode(b"x" * 23).decode()
    for wrong in ("", "whsec_", short, SECRET.removeprefix("whsec_"), "whsec_!!!!", SECRET + "é"):
        assert not webhook.is_secret(wrong)


# -- RFC 8291 (2017), section 5 and appendix A: inputs from memory; the public key is derived from the private
# one, and another implementation opens the body, so the set agrees with itself -----------------------------

PLAIN = b"When I grow up, I want to be a watermelon"
SENDER_PRIVATE = "yfWPiYE-n46HLnH0KqZOF1fJJU3MYrct3AELtAQ-oRw"
SENDER_PUBLIC = "BP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A8"
PHONE_PRIVATE = "q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94"
PHONE_PUBLIC = "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4"
AUTH = "BTBZMqHH6r4Tts7J_aSIgg"
SALT = "DGv6ra1nlYgDCS1FRnbzlw"
PUSH_BODY = (
    "DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6"
    "PBru3jl7A_yl95bQpu6cVPTpK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulcy4a-fN"
)


def _private(text: str) -> ec.EllipticCurvePrivateKey:
    return ec.derive_private_key(int.from_bytes(push.from_base64url(text)), ec.SECP256R1())


def _public(key: ec.EllipticCurvePublicKey) -> str:
    point = key.public_bytes(serialization.Encoding.X962, serialization.PublicFormat.UncompressedPoint)
    return push.to_base64url(point)


def _opened(body: bytes, key: ec.EllipticCurvePrivateKey, auth: str) -> bytes:
    opened = http_ece.decrypt(
        body, private_key=key, auth_secret=push.from_base64url(auth), version="aes128gcm"
    )
    assert isinstance(opened, bytes)
    return opened


def test_the_body_that_rfc_8291_prints() -> None:
    assert _public(_private(SENDER_PRIVATE).public_key()) == SENDER_PUBLIC
    assert _public(_private(PHONE_PRIVATE).public_key()) == PHONE_PUBLIC
    body = push.encrypted(
        PLAIN,
        PHONE_PUBLIC,
        AUTH,
        sender_key=_private(SENDER_PRIVATE),
        salt=push.from_base64url(SALT),
    )
    assert len(body) == 144
    assert push.to_base64url(body) == PUSH_BODY


def test_the_phone_of_rfc_8291_opens_what_is_sent_to_it() -> None:
    bodies = [push.encrypted(PLAIN, PHONE_PUBLIC, AUTH) for _ in range(2)]
    assert [_opened(body, _private(PHONE_PRIVATE), AUTH) for body in bodies] == [PLAIN, PLAIN]
    # A salt and a key of its own each time; RFC 8188, section 2.1: salt, record size, length of the key.
    assert bodies[0][:16] != bodies[1][:16]
    assert bodies[0][16:21] == (4096).to_bytes(4) + bytes([65])
    assert bodies[0][21:86] != bodies[1][21:86]


@pytest.mark.parametrize(
    ("public_key", "auth", "good"),
    [
        (PHONE_PUBLIC, AUTH, True),
        (PHONE_PUBLIC + "=", AUTH + "==", True),
        (PHONE_PUBLIC[:-4] + "AAAA", AUTH, False),
        (PHONE_PUBLIC[:-4], AUTH, False),
        (PHONE_PUBLIC, AUTH[:-2], False),
        ("", "", False),
        ("not base64!", AUTH, False),
    ],
)
def test_keys_of_a_subscription(public_key: str, auth: str, good: bool) -> None:
    assert push.are_keys(public_key, auth) is good


# -- a push message from end to end --------------------------------------------------------------------------


class Phone:
    """A browser's subscription at a push service that is the receiver."""

    def __init__(self, season: Season, receiver: HttpReceiver, role: str = "shop") -> None:
        self.key = ec.generate_private_key(ec.SECP256R1())
        self.auth = push.to_base64url(b"sixteen bytes ok")
        self.phone = season.show.phone(role)
        self.subscription = {
            "endpoint": receiver.url,
            "expirationTime": None,
            "keys": {"p256dh": _public(self.key.public_key()), "auth": self.auth},
        }

    def subscribe(self) -> Json:
        answer = self.phone.account.post(self.phone.path("push"), self.subscription)
        assert answer.status == 201, answer.body
        return dict(answer.body)

    def opened(self, body: bytes) -> Json:
        return dict(json.loads(_opened(body, self.key, self.auth)))


def _check_token(headers: dict[str, str], endpoint: str, public_key: str) -> None:
    """RFC 8292: a JWT signed with ES256 (RFC 7518, section 3.4), checked without the library that made it."""
    scheme, _, rest = headers["authorization"].partition(" ")
    given = dict(part.strip().split("=", 1) for part in rest.split(","))
    assert (scheme, given["k"]) == ("vapid", public_key)
    head, claims, signature = given["t"].split(".")
    assert json.loads(push.from_base64url(head)) == {"typ": "JWT", "alg": "ES256"}
    raw = push.from_base64url(signature)
    signed = encode_dss_signature(int.from_bytes(raw[:32]), int.from_bytes(raw[32:]))
    key = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), push.from_base64url(public_key))
    key.verify(signed, f"{head}.{claims}".encode(), ec.ECDSA(hashes.SHA256()))
    said = json.loads(push.from_base64url(claims))
    assert said["aud"] == endpoint.rsplit("/", 1)[0]
    assert time.time() < said["exp"] <= time.time() + 24 * 60 * 60
    assert said["sub"] == "https://trailer.example"


def test_a_phone_is_told(season: Season, receiver: HttpReceiver) -> None:
    phone = Phone(season, receiver)
    answer = phone.subscribe()
    assert answer["endpoints"] == [receiver.url]
    order = raise_order(season, latest_start=season.date(4))
    deliver_once()
    (request,) = receiver.taken
    told = phone.opened(request.body)
    assert told["title"] == "Asked for: 4 mid copies of Brow for Ana"
    assert "Needed on" in told["words"]
    assert "start by" in told["words"]
    assert told["address"] == f"#/shop/{order}"
    assert request.headers["content-encoding"] == "aes128gcm"
    assert int(request.headers["ttl"]) > 0
    # RFC 8030, section 5.4: at most 32 signs of the base64url alphabet.
    assert len(request.headers["topic"]) <= 32
    _check_token(request.headers, receiver.url, answer["public_key"])


def test_the_key_is_made_once_and_is_nobody_elses(
    season: Season, receiver: HttpReceiver, tmp_path: Path
) -> None:
    phone = Phone(season, receiver)
    keys = {phone.subscribe()["public_key"] for _ in range(2)}
    assert len(keys) == 1
    key = tmp_path / "push-key.pem"
    assert stat.S_IMODE(key.stat().st_mode) == 0o600


@pytest.mark.parametrize("status", [404, 410])
def test_a_phone_that_has_ended_its_subscription(season: Season, receiver: HttpReceiver, status: int) -> None:
    phone = Phone(season, receiver)
    phone.subscribe()
    receiver.behaviour = status
    order = raise_order(season)
    step(season, order, state="taken_on")
    deliver_once()
    assert len(receiver.received) == 1
    assert set(Outgoing.objects.values_list("state", flat=True)) == {"given_up"}
    assert not Destination.objects.filter(active=True).exists()
    step(season, order, state="casting")
    assert Outgoing.objects.count() == 2
    # It may subscribe again.
    assert phone.subscribe()["endpoints"] == [receiver.url]


def test_subscribing_again_renews_and_ending_ends(season: Season, receiver: HttpReceiver) -> None:
    first, other = Phone(season, receiver), Phone(season, receiver, "set_artist")
    first.subscribe()
    assert other.subscribe()["endpoints"] == [receiver.url]
    assert first.phone.account.get(first.phone.path("push")).body["endpoints"] == []
    raise_order(season)
    deliver_once()
    assert other.opened(receiver.taken[0].body)["title"]
    ending = json.dumps({"endpoint": receiver.url}).encode()
    # Somebody else's subscription is not ended.
    first.phone.account.raw("DELETE", first.phone.path("push"), ending)
    assert Destination.objects.filter(active=True).count() == 1
    answer = other.phone.account.raw("DELETE", other.phone.path("push"), ending)
    assert (answer.status, answer.body["endpoints"]) == (200, [])
    raise_order(season)
    assert deliver_once() == 0


def test_a_push_service_that_is_away_for_a_while(season: Season, receiver: HttpReceiver) -> None:
    from tests.deliveries.sending import send_until_done

    phone = Phone(season, receiver)
    phone.subscribe()
    receiver.once = [500, 429, 413, 503]
    order = raise_order(season)
    step(season, order, state="taken_on")
    send_until_done()
    assert [phone.opened(request.body)["title"].split(":")[0] for request in receiver.taken] == [
        "Asked for", "Taken on",
    ]  # fmt: skip
