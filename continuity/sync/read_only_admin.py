"""What the admin's pages of records have in common: they are for looking things up, not for changing them.

A row changed here would change on no phone, because phones hear of entries only.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.contrib import admin
from django.db.models import Model
from django.http import HttpRequest, HttpResponse

EDITED_IN_THE_APP = "To look at only. This is edited in the app, so that every phone hears of it."

# The classes take a type parameter in their stubs only.
if TYPE_CHECKING:
    AnyModelAdmin = admin.ModelAdmin[Any]
    AnyTabularInline = admin.TabularInline[Any, Any]
else:
    AnyModelAdmin = admin.ModelAdmin
    AnyTabularInline = admin.TabularInline


class LookOnly:
    """Nothing is added, changed or deleted."""

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class ReadOnlyAdmin(LookOnly, AnyModelAdmin):
    """A page of records, with the sentence that says where they are edited."""

    def changelist_view(
        self, request: HttpRequest, extra_context: dict[str, Any] | None = None
    ) -> HttpResponse:
        return super().changelist_view(request, {"subtitle": EDITED_IN_THE_APP, **(extra_context or {})})

    def get_fieldsets(self, request: HttpRequest, obj: Model | None = None) -> Any:
        return [(None, {"fields": self.get_fields(request, obj), "description": EDITED_IN_THE_APP})]


class ReadOnlyInline(LookOnly, AnyTabularInline):
    """Rows that belong to the record above them."""

    extra = 0
    can_delete = False
