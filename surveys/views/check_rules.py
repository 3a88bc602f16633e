"""Pages of the rules of the checks: all of them with their limits in force, and the form that sets one."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from surveys import access
from surveys.check_settings import RuleShown, all_rules, change_rule, one_rule
from surveys.forms.check_rules import BackForm, RuleForm
from surveys.language import told, worded
from surveys.rules import ALL, ASK, RULES


@access.allowed(access.SEE_UNACCEPTED)
@require_safe
def check_rules(request: HttpRequest) -> HttpResponse:
    """Every rule with its explanation, limits and default, and who set it otherwise and why."""
    sections = all_rules()
    context = {
        "sections": sections,
        "changed": [one for _, rules in sections for one in rules if one.changed],
        "count": len(ALL),
        "asking": sum(rule.level == ASK for rule in ALL),
        "may_change": access.may(request.user, access.MANAGE),
    }
    return render(request, "surveys/check_rules.html", context)


@access.allowed(access.MANAGE)
@require_http_methods(["GET", "HEAD", "POST"])
def check_rule(request: HttpRequest, key: str) -> HttpResponse:
    """Set the limits of one rule, or switch it off, with a reason."""
    rule = RULES.get(key)
    if rule is None or not rule.may_change:
        raise Http404
    shown = one_rule(rule)
    form = RuleForm(shown, request.POST or None)
    if request.method == "POST":
        back = BackForm(request.POST)
        if request.POST.get("action") == "back":
            if back.is_valid():
                return _keep(request, shown, {}, False, back.cleaned_data["reason"])
            form = RuleForm(shown, {**_as_it_stands(shown), "reason": ""})
        if form.is_valid():
            given = form.cleaned_data
            return _keep(request, shown, form.limits, given.get("off", False), given["reason"])
    context = {"shown": shown, "form": form}
    return render(request, "surveys/check_rule.html", context, status=422 if form.errors else 200)


def _as_it_stands(shown: RuleShown) -> dict[str, object]:
    return {f"limit_{one.limit.name}": one.value for one in shown.limits} | (
        {"off": "on"} if shown.off else {}
    )


def _keep(
    request: HttpRequest, shown: RuleShown, limits: dict[str, float], off: bool, reason: str
) -> HttpResponse:
    rule = shown.rule
    try:
        changed = change_rule(rule, limits=limits, off=off, reason=reason, by=request.user)
    except ValidationError as refused:
        messages.error(request, " ".join(told(words) for words in refused.messages))
        return redirect("surveys:check_rule", rule.key)
    if changed:
        messages.success(
            request,
            worded("“{rule}” is set. It holds from the next check on.", rule=told(rule.title)),
        )
    else:
        messages.info(
            request,
            worded("“{rule}” was set so already; nothing changed.", rule=told(rule.title)),
        )
    return redirect(f"{reverse('surveys:check_rules')}#{rule.key}")
