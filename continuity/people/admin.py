"""Accounts and who has which role, edited here; performers, to look at."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms
from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.contrib.auth.models import User
from django.http import HttpRequest

from continuity.people.documents import Role
from continuity.people.models import Membership, Performer
from continuity.people.services import change_crew_member
from continuity.sync.read_only_admin import AnyModelAdmin, ReadOnlyAdmin

if TYPE_CHECKING:
    MembershipModelForm = forms.ModelForm[Membership]
    AnyUserAdmin = UserAdmin[User]
else:
    MembershipModelForm = forms.ModelForm
    AnyUserAdmin = UserAdmin


class MembershipForm(MembershipModelForm):
    """A role on a production; a production keeps at least one department head."""

    role = forms.ChoiceField(
        choices=[(role.value, role.value.replace("_", " ").capitalize()) for role in Role]
    )

    class Meta:
        model = Membership
        fields = ("production", "user", "role", "active")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        production = self.instance.production_id or getattr(cleaned.get("production"), "id", None)
        stays_head = cleaned.get("active") and cleaned.get("role") == Role.DEPARTMENT_HEAD
        if production and not stays_head:
            heads = Membership.objects.filter(
                production_id=production, role=Role.DEPARTMENT_HEAD, active=True
            ).exclude(id=self.instance.id)
            if not heads.exists():
                raise forms.ValidationError("A production keeps at least one department head.")
        return cleaned


@admin.register(Membership)
class MembershipAdmin(AnyModelAdmin):
    """Somebody's role. It is never deleted, because what they wrote names them; it is ended."""

    form = MembershipForm
    list_display = ("user", "name", "role", "active", "production")
    list_filter = ("production", "role", "active")
    list_select_related = ("user", "production")
    search_fields = ("user__username", "user__first_name", "user__last_name")

    @admin.display(ordering="user__first_name")
    def name(self, membership: Membership) -> str:
        return membership.user.first_name

    def get_readonly_fields(self, request: HttpRequest, obj: Membership | None = None) -> tuple[str, ...]:
        return ("production", "user") if obj else ()

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def save_model(self, request: HttpRequest, obj: Membership, form: Any, change: bool) -> None:
        if not change:
            super().save_model(request, obj, form, change)
        # The service also writes the crew's record, so that every phone hears of the change.
        change_crew_member(
            by=_acting(request.user, obj), crew_id=obj.id, role=Role(obj.role), active=obj.active
        )


class AccountAdmin(AnyUserAdmin):
    """An account. A new name is told to the phones of every production it is on."""

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        super().save_model(request, obj, form, change)
        if {"username", "first_name"} & set(form.changed_data):
            for membership in Membership.objects.filter(user=obj):
                change_crew_member(by=_acting(request.user, membership), crew_id=membership.id)


admin.site.unregister(User)
admin.site.register(User, AccountAdmin)


@admin.register(Performer)
class PerformerAdmin(ReadOnlyAdmin):
    list_display = ("name", "doubles", "withdrawn", "production")
    list_filter = ("production", "withdrawn")
    list_select_related = ("doubles", "production")
    search_fields = ("name",)


def _acting(user: Any, membership: Membership) -> Membership:
    """Who the crew's record says has changed it: the person at the admin, if they are on that production."""
    own = Membership.objects.filter(user=user, production_id=membership.production_id).first()
    return own or membership
