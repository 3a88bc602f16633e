"""Pages that exist in English alone are shown at their English address, never half in another language."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import translate_url
from django.utils.translation import get_language

# Files and data for programs, and the framework's own pages for lists, are in English.
TRANSLATED = (
    frozenset(
        f"trends:{name}"
        for name in (
            "overview",
            "watershed",
            "compare",
            "station_result",
            "watershed_result",
            "methods",
            "method",
            "brief",
            "brief_pdf",
            "brief_issue",
            "effect",
            "handout",
            "handout_pack",
            "stations",
            "station",
            "visit",
            "species_list",
            "species",
            "open_data",
            "api",
            "notes",
            "note_add",
            "note_edit",
            "note_withdraw",
            "handout_edit",
            "tokens",
            "token_revoke",
            "brief_issued",
            "brief_issued_pdf",
            "method_desk",
            "method_strata",
            "method_draft",
            "method_draft_in_full",
            "method_check",
            "trait_change",
            "taxon_merge",
            "taxon_split",
            "trait_lists",
            "trait_county",
            "trait_list",
        )
    )
    | frozenset(
        f"surveys:{name}"
        for name in (
            "season",
            "season_year",
            "season_plan_add",
            "season_plan",
            "season_not_sampled_add",
            "season_not_sampled",
            "season_close",
            "season_permit_add",
            "season_permit",
            "season_crew_add",
            "season_crew",
            "permit_report",
            "gear",
            "field_sheet",
            "station_layout",
            "station_version",
            "upload_list",
            "upload",
            "upload_answers",
            "upload_names",
            "mapping_list",
            "mapping_batch",
            "mapping_file",
            "near_names",
            "entry_tally",
            "entry_worker",
            "entry_manifest",
            "entry_lists",
            "entry_sync",
            "entry_voucher",
            "review",
            "review_visit",
            "visit_history",
            "visit_vouchers",
            "entry",
            "entry_visit",
            "check_rules",
            "check_rule",
        )
    )
    | frozenset(
        f"account_{name}"
        for name in (
            "login",
            "logout",
            "inactive",
            "signup",
            "reauthenticate",
            "change_password",
            "set_password",
            "reset_password",
            "reset_password_done",
            "reset_password_from_key",
            "reset_password_from_key_done",
        )
    )
)


class EnglishWhereNotTranslated:
    """Send a reader of another language on to the English page where there is no other."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Any, args: Any, kwargs: Any) -> HttpResponse | None:
        match = request.resolver_match
        if match is None or get_language() == "en" or match.view_name in TRANSLATED:
            return None
        # What is sent would be lost on the way to another address.
        if request.method not in ("GET", "HEAD"):
            return None
        english = translate_url(request.get_full_path(), "en")
        # A page whose address has no language is English anyway.
        return None if english == request.get_full_path() else HttpResponseRedirect(english)
