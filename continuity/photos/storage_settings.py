"""Where photos are kept, from the environment: this machine's disk, or a bucket that speaks S3.

CONTINUITY_S3_BUCKET    its name; without it, photos lie in the data directory
CONTINUITY_S3_ENDPOINT  the address of the server, such as https://objects.example; without it, Amazon's
CONTINUITY_S3_REGION    the region; may be left out where there is an endpoint
AWS_ACCESS_KEY_ID, AWS_SECRET_ACCESS_KEY  the credentials, and AWS_SESSION_TOKEN where they are for a while
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any
from urllib.parse import urlsplit

from django.core.exceptions import ImproperlyConfigured

NAMES = frozenset({"CONTINUITY_S3_BUCKET", "CONTINUITY_S3_ENDPOINT", "CONTINUITY_S3_REGION"})
CREDENTIALS = ("AWS_ACCESS_KEY_ID", "AWS_SECRET_ACCESS_KEY")
REGION_WITHOUT_NAME = "us-east-1"
"""What servers that know no regions expect to be called."""


def photo_storage(environment: Mapping[str, str]) -> dict[str, Any]:
    """Django's setting of the storage. Raises ImproperlyConfigured for settings that are half given."""
    bucket = environment.get("CONTINUITY_S3_BUCKET", "")
    endpoint = environment.get("CONTINUITY_S3_ENDPOINT", "")
    region = environment.get("CONTINUITY_S3_REGION", "")
    if not bucket:
        given = sorted(NAMES & environment.keys())
        if given:
            raise ImproperlyConfigured(f"{', '.join(given)}: given, but not which bucket.")
        return {
            "BACKEND": "django.core.files.storage.FileSystemStorage",
            # Under a sha256 lies the same each time; half a file of a server that stopped is replaced.
            "OPTIONS": {"allow_overwrite": True},
        }
    if not re.fullmatch(r"[a-z0-9][a-z0-9.-]{1,61}[a-z0-9]", bucket):
        raise ImproperlyConfigured(f"CONTINUITY_S3_BUCKET is {bucket!r}, which is not a bucket's name.")
    if not endpoint and not region:
        raise ImproperlyConfigured("CONTINUITY_S3_REGION is missing: without an endpoint it is needed.")
    if endpoint:
        parts = urlsplit(endpoint)
        if parts.scheme not in {"http", "https"} or not parts.hostname or parts.query or parts.username:
            raise ImproperlyConfigured("CONTINUITY_S3_ENDPOINT is not like https://objects.example.")
    missing = [name for name in CREDENTIALS if not environment.get(name)]
    if missing:
        raise ImproperlyConfigured(f"{' and '.join(missing)}: missing for the bucket {bucket}.")
    # Only now: it is slow to load, and most installations have no bucket.
    from botocore.config import Config

    return {
        "BACKEND": "storages.backends.s3.S3Storage",
        "OPTIONS": {
            "bucket_name": bucket,
            "endpoint_url": endpoint or None,
            "region_name": region or REGION_WITHOUT_NAME,
            "access_key": environment[CREDENTIALS[0]],
            "secret_key": environment[CREDENTIALS[1]],
            "security_token": environment.get("AWS_SESSION_TOKEN"),
            "file_overwrite": True,
            "client_config": Config(
                signature_version="s3v4",
                # A name before the host needs a certificate for it, which a server of one's own has not.
                s3={"addressing_style": "path" if endpoint else "virtual"},
                # A phone waits while its last piece is put away.
                connect_timeout=5,
                read_timeout=20,
                retries={"max_attempts": 2},
            ),
        },
    }
