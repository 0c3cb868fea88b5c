"""Who may see health notes. Who may write what stands with each kind of record."""

from __future__ import annotations

from continuity.people.documents import Role

APPLIERS = frozenset({Role.SET_ARTIST, Role.DEPARTMENT_HEAD})


def may_see_health(role: Role) -> bool:
    """Health notes are for those who apply and for the department head, and for no one else."""
    return role in APPLIERS
