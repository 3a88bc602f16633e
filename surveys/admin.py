"""The administrator's lists: how visits are sampled, where, what is caught, and who may sign in.

Stations and taxa are registered by ``trends.admin``, which also has to see to it that results
follow a change; this app may not know of results.
"""

from typing import Any

from allauth.account.forms import ResetPasswordForm
from django import forms
from django.contrib import admin, messages
from django.contrib.auth import get_user_model
from django.contrib.auth.admin import UserAdmin
from django.contrib.auth.models import Group
from django.db.models import Model, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from surveys.models import Catch, SamplingMethod, Station, Taxon, TaxonAlias, Watershed
from surveys.season import closed_among

User = get_user_model()

admin.site.site_header = "Rillmark lists"
admin.site.site_title = "Rillmark lists"
admin.site.index_title = "Reference lists and people"
admin.site.unregister(Group)
admin.site.unregister(User)


class KeptWhileInUse(admin.ModelAdmin):
    """A row that visits rest on is not deleted; the page says why and what can be done in its place."""

    def in_use(self, row: Any) -> str:
        """What still rests on the row, in words; empty where nothing does."""
        raise NotImplementedError

    def delete_view(
        self, request: HttpRequest, object_id: str, extra_context: dict[str, Any] | None = None
    ) -> HttpResponse:
        row = self.get_object(request, object_id)
        if row is not None and self.has_delete_permission(request, row):
            words = self.in_use(row)
            if words:
                self.message_user(
                    request,
                    f"{row} cannot be deleted: {words}. Its fields can be changed; each change is kept in "
                    "the history.",
                    messages.ERROR,
                )
                name = f"admin:{self.opts.app_label}_{self.opts.model_name}_change"
                return redirect(reverse(name, args=[object_id]))
        return super().delete_view(request, object_id, extra_context)

    def get_actions(self, request: HttpRequest) -> dict[str, Any]:
        """Deleting many rows at once would go round the check, so it is not offered."""
        actions = super().get_actions(request)
        actions.pop("delete_selected", None)
        return actions

    def get_deleted_objects(self, objs: Any, request: HttpRequest) -> Any:
        """What is computed goes with its row; nobody needs a permission of his own for that."""
        listed, counts, needed, protected = super().get_deleted_objects(objs, request)
        return (
            listed,
            counts,
            needed - {"trend result", "visit result", "stale station", "listed traits"},
            protected,
        )


def counted(number: int, one: str, many: str = "") -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"


def joined(parts: list[str]) -> str:
    return " and ".join(part for part in parts if not part.startswith("0 "))


@admin.register(Watershed)
class WatershedAdmin(KeptWhileInUse):
    list_display = ["name", "slug"]
    search_fields = ["name"]
    prepopulated_fields = {"slug": ("name",)}

    def in_use(self, row: Watershed) -> str:
        words = joined(
            [counted(row.stations.count(), "station"), counted(row.notes.count(), "land-use note")]
        )
        return f"{words} belong to it" if words else ""


class SamplingMethodAdmin(KeptWhileInUse):
    """How visits are made; registered by ``trends.admin``, since its season window decides trends."""

    list_display = ["code", "name", "planned_passes", "season_starts", "season_ends", "is_default"]
    search_fields = ["code", "name"]

    def in_use(self, row: SamplingMethod) -> str:
        words = joined(
            [
                counted(row.visits.count(), "visit"),
                counted(Station.objects.filter(method=row).count(), "station"),
            ]
        )
        return f"{words} use it" if words else ""


class StationAdmin(KeptWhileInUse):
    """Registered by ``trends.admin``."""

    list_display = ["code", "name", "stream", "watershed", "stratum", "catchment_km2"]
    list_filter = ["watershed", "stratum"]
    list_select_related = ["watershed"]
    search_fields = ["code", "name", "stream"]

    def in_use(self, row: Station) -> str:
        visits = counted(row.visits.count(), "visit")
        notes = counted(row.land_use_notes.count(), "land-use note")
        words = joined([visits, notes])
        if words:
            return f"{words} belong to it"
        # The database would refuse it, for its layouts go with it.
        locked = closed_among(row.versions.values_list("valid_from", flat=True))
        named = ", ".join(str(year) for year in locked)
        return f"it was laid out anew in a closed season ({named})" if locked else ""


class AliasInline(admin.TabularInline):
    model = TaxonAlias
    extra = 1


class TaxonAdmin(KeptWhileInUse):
    """Registered by ``trends.admin``."""

    list_display = ["scientific_name", "common_name", "family", "tolerance", "trophic_guild", "native"]
    list_filter = ["rank", "tolerance", "trophic_guild", "native", "sensitive_location"]
    search_fields = ["scientific_name", "common_name", "code", "aliases__name"]
    prepopulated_fields = {"slug": ("scientific_name",)}
    inlines = [AliasInline]

    def in_use(self, row: Taxon) -> str:
        visits = Catch.objects.filter(taxon=row).order_by().values("removal_pass__visit").distinct().count()
        return f"it was caught at {counted(visits, 'visit')}" if visits else ""


@admin.register(TaxonAlias)
class TaxonAliasAdmin(admin.ModelAdmin):
    list_display = ["name", "taxon"]
    list_select_related = ["taxon"]
    search_fields = ["name", "taxon__scientific_name", "taxon__common_name"]


# --- people ----------------------------------------------------------------------------------------


class PersonForm(forms.ModelForm):
    """A new person: no password here, for each sets his own by the mail that is sent."""

    class Meta:
        model = User
        fields = ["username", "email", "first_name", "last_name", "groups"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if "email" in self.fields:
            self.fields["email"].required = True
        if "groups" in self.fields:
            self.fields["groups"].label = "Roles"
            self.fields["groups"].help_text = "What this person may do."

    def clean_email(self) -> str:
        email = self.cleaned_data["email"]
        taken = User.objects.filter(email__iexact=email).exclude(pk=self.instance.pk)
        if taken.exists():
            raise forms.ValidationError("Somebody else has this address. Each person needs one of their own.")
        return email


@admin.register(User)
class PersonAdmin(UserAdmin):
    """People and their roles. Superusers are made on the server alone, by ``createsuperuser``."""

    form = PersonForm
    add_form = PersonForm
    list_display = ["username", "email", "first_name", "last_name", "is_active", "last_login"]
    list_filter = ["groups", "is_active"]
    filter_horizontal = ["groups"]
    readonly_fields = ["last_login", "date_joined"]
    fieldsets = [
        (None, {"fields": ["username", "email", "first_name", "last_name"]}),
        ("What this person may do", {"fields": ["groups", "is_active"]}),
        ("Dates", {"fields": ["last_login", "date_joined"]}),
    ]
    add_fieldsets = [
        (None, {"fields": ["username", "email", "first_name", "last_name", "groups"]}),
    ]
    actions = ["send_password_mail"]

    def _above(self, request: HttpRequest, row: Any) -> bool:
        """Whether a row is a superuser and the person is not: out of reach."""
        return row is not None and row.is_superuser and not request.user.is_superuser  # type: ignore[union-attr]

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return super().has_change_permission(request, obj) and not self._above(request, obj)

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return super().has_delete_permission(request, obj) and not self._above(request, obj)

    def user_change_password(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Nobody sets a password for somebody else."""
        self.message_user(request, "Send a mail to set a password in place of setting one.", messages.WARNING)
        return redirect("admin:auth_user_changelist")

    def get_queryset(self, request: HttpRequest) -> QuerySet[Any]:
        people = super().get_queryset(request)
        return people if request.user.is_superuser else people.filter(is_superuser=False)  # type: ignore[union-attr]

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        if not change:
            obj.set_unusable_password()
        super().save_model(request, obj, form, change)

    def save_related(self, request: HttpRequest, form: Any, formsets: Any, change: bool) -> None:
        """These pages open for administrators and nobody else, so the flag follows the role."""
        super().save_related(request, form, formsets, change)
        person: Model = form.instance
        wanted = person.is_superuser or person.groups.filter(name="administrator").exists()  # type: ignore[attr-defined]
        if person.is_staff != wanted:  # type: ignore[attr-defined]
            User.objects.filter(pk=person.pk).update(is_staff=wanted)
        if not change:
            self._send(request, [person])

    @admin.action(description="Send a mail to set a password", permissions=["change"])
    def send_password_mail(self, request: HttpRequest, queryset: QuerySet[Any]) -> None:
        self._send(request, list(queryset))

    def _send(self, request: HttpRequest, people: list[Any]) -> None:
        sent, skipped = [], []
        for person in people:
            form = ResetPasswordForm({"email": person.email})
            if person.is_active and person.email and form.is_valid():
                form.save(request)
                sent.append(person.email)
            else:
                skipped.append(person.get_username())
        if sent:
            self.message_user(request, f"A mail to set a password goes to {', '.join(sent)}.")
        if skipped:
            self.message_user(
                request, f"Not sent: {', '.join(skipped)} (no address, or not active).", messages.WARNING
            )
