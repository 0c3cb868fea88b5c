"""The first start: a demo production when it is asked for, and somebody who can sign in."""

from __future__ import annotations

import secrets

from django.contrib.auth.models import User
from django.core.management import call_command

from continuity.demo import story
from continuity.demo.loader import PASSWORD
from continuity.schedule.models import Production

HEAD = "head"
PASSWORD_BYTES = 12


def who_can_sign_in(*, demo: bool) -> list[str]:
    """Lines for the terminal that say who can sign in.

    Loads the demo production first if it is asked for and there is no production at all. Makes an account for
    the head of department if there is no account at all; its password is in the lines, and nowhere else.
    """
    if demo and not Production.objects.exists():
        call_command("load_demo")
    elif (accounts := _demo_accounts()) is not None:
        return [accounts]
    if not User.objects.exists():
        password = secrets.token_urlsafe(PASSWORD_BYTES)
        User.objects.create_superuser(HEAD, password=password)
        return [f"Sign in as {HEAD}, password {password} (shown only now; note it down)."]
    return [f"A forgotten password: python3 manage.py changepassword {HEAD}"]


def _demo_accounts() -> str | None:
    """One line for the demo's accounts while they still have the demo's password."""
    head = User.objects.filter(username=story.HEAD.username).first()
    if head is None or not head.check_password(PASSWORD):
        return None
    names = ", ".join(account.username for account in (story.HEAD, *story.CREW))
    return f"Sign in as one of {names}; the demo's password is {PASSWORD}."
