"""How an edit meets a record that has moved on. Plain functions over JSON, no database.

An edit is a JSON Merge Patch (RFC 7396). Members it writes that nobody else has written meanwhile are
applied; members somebody else has written to another value stay as they stand, and the edit's value is
handed back so that it is kept and shown. Nothing is merged in silence.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

Path = tuple[str, ...]
Json = Any


@dataclass(frozen=True)
class Collision:
    """A member both sides wrote. ``kept`` stands in the record; ``offered`` is what the stale edit said."""

    path: Path
    kept: Json
    offered: Json


@dataclass(frozen=True)
class Merged:
    """The document after the edit, and what of the edit was not applied."""

    document: dict[str, Json]
    collisions: tuple[Collision, ...]


def apply_merge_patch(target: Json, patch: Json) -> Json:
    """``target`` after ``patch``, by RFC 7396 section 2. Neither argument is changed."""
    if not isinstance(patch, dict):
        return patch
    result = dict(target) if isinstance(target, dict) else {}
    for name, value in patch.items():
        if value is None:
            result.pop(name, None)
        else:
            result[name] = apply_merge_patch(result.get(name), value)
    return result


def merge_patch_between(before: dict[str, Json], after: dict[str, Json]) -> dict[str, Json]:
    """The smallest patch that turns one document into another. Neither holds ``None``."""
    patch: dict[str, Json] = {name: None for name in before if name not in after}
    for name, value in after.items():
        stood = before.get(name)
        if isinstance(stood, dict) and isinstance(value, dict):
            inner = merge_patch_between(stood, value)
            if inner:
                patch[name] = inner
        elif name not in before or stood != value:
            patch[name] = value
    return patch


def written_paths(patch: dict[str, Json], prefix: Path = ()) -> Iterator[tuple[Path, Json]]:
    """Each member a patch writes or removes, with the value it gives it (``None`` removes)."""
    for name, value in patch.items():
        path = (*prefix, name)
        if isinstance(value, dict) and value:
            yield from written_paths(value, path)
        else:
            yield path, value


def merge_stale_edit(
    document: dict[str, Json],
    patch: dict[str, Json],
    unseen: Iterable[dict[str, Json]],
    together: Iterable[frozenset[str]] = (),
) -> Merged:
    """Apply ``patch`` to ``document``, the current head, where ``unseen`` patches came in between.

    ``unseen`` are the patches in ``document`` that the maker of ``patch`` had not seen. A member collides
    when an unseen patch wrote it, a part of it or the whole it belongs to, and it now has another value
    than the one offered. Members that stand ``together`` say something only with each other: where one of
    them collides, the others that the patch writes do too.
    """
    written_meanwhile = [path for other in unseen for path, _ in written_paths(other)]
    written = [Collision(path, value_at(document, path), offered) for path, offered in written_paths(patch)]
    colliding = [
        member
        for member in written
        if member.kept != member.offered and any(_overlap(member.path, other) for other in written_meanwhile)
    ]
    names = {member.path[0] for member in colliding}
    drawn_in = {name for group in together if group & names for name in group}
    collisions: list[Collision] = []
    merged = document
    for member in written:
        if member in colliding or (member.path[0] in drawn_in and member.kept != member.offered):
            collisions.append(member)
        else:
            merged = apply_merge_patch(merged, single_member_patch(member.path, member.offered))
    return Merged(merged, tuple(collisions))


def _overlap(one: Path, other: Path) -> bool:
    shared = min(len(one), len(other))
    return one[:shared] == other[:shared]


def value_at(document: Json, path: Path) -> Json:
    """What stands at ``path``; None when nothing does."""
    for name in path:
        if not isinstance(document, dict) or name not in document:
            return None
        document = document[name]
    return document


def single_member_patch(path: Path, value: Json) -> dict[str, Json]:
    """The patch that writes one member and nothing else."""
    patch = value
    for name in reversed(path):
        patch = {name: patch}
    return dict(patch)
