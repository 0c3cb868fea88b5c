"""Settings, from the environment only. A value that cannot be used is refused with a sentence, not guessed.

CONTINUITY_DATA_DIR       where the database, photos and secret key lie (default: .data in the project)
DATABASE_URL              a PostgreSQL address; without it, SQLite in the data directory
CONTINUITY_SECRET_KEY     the signing key; without it, one is made once and kept in the data directory
CONTINUITY_ALLOWED_HOSTS  host names served, separated by commas (default: this machine only)
CONTINUITY_TRUSTED_ORIGINS  origins such as https://trailer.example, separated by commas, when behind a proxy
CONTINUITY_BEHIND_TLS     1 when a proxy in front ends TLS and sets X-Forwarded-Proto: secure cookies
CONTINUITY_SERVES_TLS     1 when the server itself serves HTTPS, as `up --lan` does: secure cookies
CONTINUITY_ADDRESS        where people open the app, such as https://trailer.example, for links in messages
                          (default: the first of the trusted origins; `up --lan` knows its own)
CONTINUITY_MAIL_HOST      the mail server that takes orders for the shop; without it no mail is sent
CONTINUITY_MAIL_PORT      its port (default: 587 with starttls, 465 with implicit, 25 with none)
CONTINUITY_MAIL_TLS       starttls (the default), implicit or none
CONTINUITY_MAIL_USER      who signs in there; without it nobody does
CONTINUITY_MAIL_PASSWORD  and with what
CONTINUITY_MAIL_SENDER    the address mail comes from
CONTINUITY_WEBHOOKS_TO_PRIVATE_NETWORKS  1 when webhooks and push messages may go to addresses inside the
                          private network, and in plain HTTP (default: refused)
CONTINUITY_S3_BUCKET      the bucket photos are kept in, and CONTINUITY_S3_ENDPOINT and CONTINUITY_S3_REGION:
                          see continuity/photos/storage_settings.py (default: the data directory)
CONTINUITY_DEBUG          1 for development
"""

from __future__ import annotations

import os
import secrets
from pathlib import Path
from typing import Any

import dj_database_url
from django.core.exceptions import ImproperlyConfigured, ValidationError
from django.core.validators import validate_email

from continuity.deliveries.mail import MAIL_PORTS, MailServer
from continuity.photos.storage_settings import NAMES as BUCKET_SETTINGS
from continuity.photos.storage_settings import photo_storage
from continuity.whole_files import write_once

ROOT = Path(__file__).resolve().parent.parent
KNOWN = {
    "CONTINUITY_DATA_DIR",
    "CONTINUITY_SECRET_KEY",
    "CONTINUITY_ALLOWED_HOSTS",
    "CONTINUITY_TRUSTED_ORIGINS",
    "CONTINUITY_BEHIND_TLS",
    "CONTINUITY_SERVES_TLS",
    "CONTINUITY_ADDRESS",
    "CONTINUITY_MAIL_HOST",
    "CONTINUITY_MAIL_PORT",
    "CONTINUITY_MAIL_TLS",
    "CONTINUITY_MAIL_USER",
    "CONTINUITY_MAIL_PASSWORD",
    "CONTINUITY_MAIL_SENDER",
    "CONTINUITY_WEBHOOKS_TO_PRIVATE_NETWORKS",
    "CONTINUITY_DEBUG",
    "CONTINUITY_CHROMIUM",
    *BUCKET_SETTINGS,
}


def _switch(name: str) -> bool:
    value = os.environ.get(name, "0")
    if value not in {"0", "1"}:
        raise ImproperlyConfigured(f"{name} is {value!r}; it can be 0 or 1.")
    return value == "1"


def _listed(name: str) -> list[str]:
    return [part.strip() for part in os.environ.get(name, "").split(",") if part.strip()]


def _secret_key(data_dir: Path) -> str:
    given = os.environ.get("CONTINUITY_SECRET_KEY")
    if given is not None:
        if len(given) < 32:
            raise ImproperlyConfigured("CONTINUITY_SECRET_KEY is shorter than 32 characters.")
        return given
    path = data_dir / "secret-key"
    if not path.exists():
        write_once(path, secrets.token_urlsafe(64).encode())
    return path.read_text().strip()


def _mail_server() -> MailServer | None:
    host = os.environ.get("CONTINUITY_MAIL_HOST")
    if not host:
        return None
    tls = os.environ.get("CONTINUITY_MAIL_TLS", "starttls")
    if tls not in MAIL_PORTS:
        raise ImproperlyConfigured(f"CONTINUITY_MAIL_TLS is {tls!r}; it can be {', '.join(MAIL_PORTS)}.")
    port = os.environ.get("CONTINUITY_MAIL_PORT", str(MAIL_PORTS[tls]))
    if not (port.isascii() and port.isdigit() and 0 < int(port) < 65536):
        raise ImproperlyConfigured(f"CONTINUITY_MAIL_PORT is {port!r}; it can be from 1 to 65535.")
    sender = os.environ.get("CONTINUITY_MAIL_SENDER", "")
    try:
        validate_email(sender)
    except ValidationError:
        raise ImproperlyConfigured(
            f"CONTINUITY_MAIL_SENDER is {sender!r}; with a mail server it is the address mail comes from."
        ) from None
    user, password = (os.environ.get(f"CONTINUITY_MAIL_{name}", "") for name in ("USER", "PASSWORD"))
    return MailServer(host, int(port), sender, tls, user, password)


for _name in os.environ:
    if _name.startswith("CONTINUITY_") and _name not in KNOWN:
        raise ImproperlyConfigured(f"{_name} is not a setting of this project.")

DATA_DIR = Path(os.environ.get("CONTINUITY_DATA_DIR", ROOT / ".data")).resolve()
DATA_DIR.mkdir(parents=True, exist_ok=True)
SECRET_KEY = _secret_key(DATA_DIR)
DEBUG = _switch("CONTINUITY_DEBUG")
BEHIND_TLS = _switch("CONTINUITY_BEHIND_TLS")
SERVES_TLS = _switch("CONTINUITY_SERVES_TLS")
ALLOWED_HOSTS = _listed("CONTINUITY_ALLOWED_HOSTS") or ["localhost", "127.0.0.1", "[::1]"]
CSRF_TRUSTED_ORIGINS = _listed("CONTINUITY_TRUSTED_ORIGINS")
APP_ADDRESS = os.environ.get("CONTINUITY_ADDRESS", next(iter(CSRF_TRUSTED_ORIGINS), "")).rstrip("/")
MAIL_SERVER = _mail_server()
WEBHOOKS_TO_PRIVATE_NETWORKS = _switch("CONTINUITY_WEBHOOKS_TO_PRIVATE_NETWORKS")

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "axes",
    "csp",
    "rest_framework",
    "drf_spectacular",
    "continuity.sync",
    "continuity.people",
    "continuity.schedule",
    "continuity.stock",
    "continuity.shop",
    "continuity.deliveries",
    "continuity.applications",
    "continuity.photos",
    "continuity.match",
    "continuity.cover",
    "continuity.demo",
    "continuity.bench",
    "api",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "csp.middleware.CSPMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "api.middleware.BoundedBodyMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "api.urls"
WSGI_APPLICATION = "continuity.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ]
        },
    }
]


def _database() -> dict[str, Any]:
    address = os.environ.get("DATABASE_URL")
    if address:
        found: dict[str, Any] = dict(dj_database_url.parse(address, conn_max_age=60))
        if found["ENGINE"] != "django.db.backends.postgresql":
            raise ImproperlyConfigured("DATABASE_URL is not a PostgreSQL address.")
        return found
    return {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": DATA_DIR / "continuity.sqlite3",
        "CONN_MAX_AGE": None,
        "OPTIONS": {
            # Read-then-write under load fails with the default DEFERRED; and a phone forgets an entry
            # once the server has confirmed it, so a confirmed entry must survive a power cut: FULL.
            "transaction_mode": "IMMEDIATE",
            "timeout": 20,
            "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;",
        },
    }


DATABASES = {"default": _database()}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = 0.25
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_RESET_ON_SUCCESS = True
AXES_VERBOSE = False
AXES_LOCKOUT_CALLABLE = "api.errors.locked_out"

# The phone is signed in once and then lives in a trailer for weeks without a good network.
SESSION_COOKIE_AGE = 60 * 60 * 24 * 60
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = BEHIND_TLS or SERVES_TLS
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_FAILURE_VIEW = "api.errors.csrf_failure"
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
# Not with SERVES_TLS: a header is then anybody's word, and a browser that was told to use HTTPS only would no
# longer open the same names at another port, where the authority's page and `up` without --lan are.
if BEHIND_TLS:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SECURE_HSTS_SECONDS = 60 * 60 * 24 * 30

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'self'"],
        # WebAssembly of our own: the reader of the codes on labels, where the browser has none.
        "script-src": ["'self'", "'wasm-unsafe-eval'"],
        "img-src": ["'self'", "blob:", "data:"],
        "style-src": ["'self'", "'unsafe-inline'"],
        "connect-src": ["'self'"],
        "object-src": ["'none'"],
        "base-uri": ["'self'"],
        "form-action": ["'self'"],
        "frame-ancestors": ["'none'"],
    }
}

LANGUAGE_CODE = "en-gb"
TIME_ZONE = "UTC"
USE_I18N = True
USE_TZ = True

STATIC_URL = "/static/"
STATIC_ROOT = DATA_DIR / "static"
FRONTEND_DIST = ROOT / "frontend" / "dist"
WHITENOISE_ROOT = FRONTEND_DIST if FRONTEND_DIST.is_dir() else None
WHITENOISE_INDEX_FILE = True
WHITENOISE_MAX_AGE = 60
# The build puts a hash of the content into the name of everything under assets.
WHITENOISE_IMMUTABLE_FILE_TEST = r"/assets/.+-[0-9A-Za-z_-]{8}\.\w+$"
MEDIA_ROOT = DATA_DIR / "media"
# Photos are served by a view that asks who is looking, never from an open address.
STORAGES = {
    "default": photo_storage(os.environ),
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
DATA_UPLOAD_MAX_MEMORY_SIZE = 6_000_000

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["api.authentication.SessionAuthentication"],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_PARSER_CLASSES": ["api.parsers.StrictJSONParser"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_CONTENT_NEGOTIATION_CLASS": "api.negotiation.OneForm",
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "EXCEPTION_HANDLER": "api.errors.exception_handler",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Continuity and application tracker",
    "VERSION": "1",
    "OAS_VERSION": "3.1.0",
    "SERVE_INCLUDE_SCHEMA": False,
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
}
