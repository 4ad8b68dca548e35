"""The farm's records for support: all may be looked at, little may be changed, and that through the history.

Counts, stays and the rest follow rules that only the services know; support asks a keeper to change them on the pages.
"""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.contrib import admin, messages
from django.contrib.auth.admin import UserAdmin
from django.contrib.auth.models import Group
from django.db import models
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme, urlencode
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.cache import never_cache
from django_otp.plugins.otp_static.admin import StaticDevice
from django_otp.plugins.otp_totp.admin import TOTPDevice

from farm import models as farm_models
from farm.errors import NotAllowed
from farm.models import Change, Farm, HistoryEntry, Invitation, Login, Member
from farm.models.history import Face
from farm.models.member import Role
from farm.services import second_step
from farm.services.actor import Actor, local_day
from farm.services.writing import write
from farm.web import clock


def may_support(request: HttpRequest) -> bool:
    """Let staff in; where people come over the internet, only with a second step: support sees every farm."""
    user = request.user
    if not (isinstance(user, Login) and user.is_active and user.is_staff):
        return False
    return user.second_step_at is not None or not settings.TLS


@never_cache
def sign_in(request: HttpRequest, extra_context: Any = None) -> HttpResponse:
    """Send to the one page where everybody signs in: no second door, no second brake, no way past the second step."""
    if not isinstance(request.user, Login):
        to = request.GET.get("next", "")
        local = url_has_allowed_host_and_scheme(to, allowed_hosts=None)
        return redirect(f"{reverse('login')}?{urlencode({'next': to if local else reverse('admin:index')})}")
    if request.user.is_staff and not may_support(request):
        messages.warning(request, _("Support needs the second step. Switch it on first."))
        return redirect("second-step")
    if may_support(request):
        return redirect("admin:index")
    raise NotAllowed(_("These pages are for support. Sign out, and in again with a login of support."))


admin.site.site_header = admin.site.site_title = gettext_lazy("Featherdays support")
admin.site.login = sign_in  # type: ignore[method-assign]
admin.site.has_permission = may_support  # type: ignore[method-assign]
admin.site.unregister(Group)  # roles belong to farms; nothing reads groups
for device in (TOTPDevice, StaticDevice):
    admin.site.unregister(device)  # they show secrets, and `Login.second_step_at` would not follow


class LookedAt(admin.ModelAdmin):
    """Records that support reads only."""

    list_per_page = 50

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Nobody adds here."""
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Nobody changes here."""
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Nobody deletes here."""
        return False


class Mended(LookedAt):
    """Records of which support may change `mendable` fields; each change is in the farm's history."""

    mendable: tuple[str, ...] = ()

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Staff with the right may change."""
        return admin.ModelAdmin.has_change_permission(self, request, obj)

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> list[str]:
        """Return every field but the mendable ones."""
        return [field.name for field in self.model._meta.fields if field.name not in self.mendable]

    def save_model(self, request: HttpRequest, obj: models.Model, form: Any, change: bool) -> None:
        """Save what was changed as one write of the farm."""
        farm = obj if isinstance(obj, Farm) else obj.farm  # type: ignore[attr-defined]
        assert isinstance(request.user, Login)
        now = clock.now()
        by = Actor(farm.pk, Face.PAGE, now, local_day(farm, now), member=None, login=request.user)
        with write(by, "support", role=Role.KEEPER) as log:
            stored = type(obj)._default_manager.get(pk=obj.pk)
            log.change(stored, **{name: form.cleaned_data[name] for name in form.changed_data})
            log.says(stored, _("Support changed %(thing)s") % {"thing": stored})


@admin.register(Farm)
class FarmAdmin(Mended):
    """Farms."""

    list_display = ("name", "time_zone", "units", "is_demo", "created_at")
    search_fields = ("name",)
    mendable = ("name",)


@admin.register(Member)
class MemberAdmin(Mended):
    """Members; support can put a lost login right."""

    list_display = ("name", "farm", "role", "login", "left_on")
    list_filter = ("role",)
    search_fields = ("name", "login__email", "farm__name")
    autocomplete_fields = ("login",)
    mendable = ("role", "login")


@admin.register(Invitation)
class InvitationAdmin(LookedAt):
    """Invitations; one sent to the wrong person may be deleted."""

    list_display = ("member", "farm", "created_at", "expires_at", "accepted_at")
    exclude = ("token_sha256",)

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Staff with the right may delete."""
        return admin.ModelAdmin.has_delete_permission(self, request, obj)


@admin.register(Login)
class LoginAdmin(UserAdmin):
    """Logins, by e-mail."""

    ordering = ("email",)
    list_display = ("email", "name", "is_active", "is_staff", "last_login")
    list_filter = ("is_active", "is_staff")
    search_fields = ("email", "name")
    filter_horizontal = ()
    readonly_fields = ("last_login", "created_at", "second_step_at")
    fieldsets = (
        (None, {"fields": ("email", "password", "name", "language")}),
        (gettext_lazy("Rights"), {"fields": ("is_active", "is_staff", "is_superuser")}),
        (gettext_lazy("Dates"), {"fields": ("last_login", "created_at", "second_step_at")}),
    )
    add_fieldsets = ((None, {"fields": ("email", "usable_password", "password1", "password2")}),)
    actions = ("take_off_second_step",)

    @admin.action(description=gettext_lazy("Switch off the second step"), permissions=["change"])
    def take_off_second_step(self, request: HttpRequest, logins: models.QuerySet[Login]) -> None:
        """Help whoever lost telephone and recovery codes, once support is sure who asks."""
        for login in logins.filter(second_step_at__isnull=False):
            second_step.switch_off(login)
            self.log_change(request, login, "second step switched off")
            self.message_user(request, _("%(login)s signs in with the password alone.") % {"login": login})


class ChangeInline(admin.TabularInline):
    """What one history entry wrote."""

    model = Change
    extra = 0
    can_delete = False

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Nobody adds here."""
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Nobody changes here."""
        return False


@admin.register(HistoryEntry)
class HistoryAdmin(LookedAt):
    """The history."""

    list_display = ("at", "farm", "summary", "member", "face")
    list_filter = ("face",)
    search_fields = ("summary", "farm__name")
    inlines = (ChangeInline,)


def _register_the_rest() -> None:
    """Register every other record for looking at."""
    for name in farm_models.__all__:
        model = getattr(farm_models, name)
        if not admin.site.is_registered(model):
            columns = ("__str__", "farm") if hasattr(model, "farm") else ("__str__",)
            admin.site.register(model, LookedAt, list_display=columns)


_register_the_rest()
