"""What of a record is for those who apply and the department head only, judged where something collides."""

from __future__ import annotations

from typing import Any

from continuity.sync.document import Document
from continuity.sync.merge import Path, apply_merge_patch, single_member_patch, value_at


def tells_of_health(kind: type[Document], document: dict[str, Any], path: Path, offered: Any) -> bool:
    """Whether what stands at ``path``, or is offered there, is shown only to those who see health notes."""
    try:
        for whole in (document, apply_merge_patch(document, single_member_patch(path, offered))):
            if value_at(whole, path) != value_at(kind.without_health(whole), path):
                return True
    except (KeyError, TypeError, AttributeError):
        # Not yet the document of its kind: what cannot be judged is not shown.
        return True
    return False
