"""Reasons, cautions and the result type of the removal method."""

from __future__ import annotations

from dataclasses import dataclass

from surveys.said import marked

METHODS = ("auto", "two-pass", "maximum-likelihood", "weighted")

# Code of a refusal -> the sentence a reader gets.
REASONS: dict[str, str] = {
    "": "",
    "one_pass": marked("Only one pass was made, so the catch is a count and no estimate is possible."),
    "no_fish": marked(
        "No fish were caught in any pass, so neither their number nor the chance of capture can be estimated."
    ),
    "no_decline": marked(
        "The catch did not fall enough from pass to pass for a finite estimate; "
        "at least the lower limit was present."
    ),
    "from_weights": marked(
        "The catch did not fall enough from pass to pass: this number comes from the "
        "weights of the method, not from the catches."
    ),
}

# Below these, or above, an estimate is shown with a warning.
LEAST_CAPTURE_PROBABILITY = 0.3  # judgement, in line with the next rule
LARGEST_VARIATION = 0.25  # Seber 1982: N p^3 > 16 q^2 (1 + q), the same as a CV under 25 % (from memory)
# Bohlin et al. 1989 p. 24: the standard error is doubtful below about these numbers of fish.
LEAST_NUMBER_TWO_PASSES = 200
LEAST_NUMBER_MORE_PASSES = 50
# Below these catches the 95 % limits held the true number in less than 92 % of simulated
# visits (table in the README).
LEAST_CATCH_TWO_PASSES = 60
LEAST_CATCH_MORE_PASSES = 25
POOR_FIT = 0.05  # chi-square of the catches against a constant capture probability

# Bit of a caution in the working arrays -> its code.
CAUTIONS = (
    "low_capture_probability",
    "wide",
    "small_number",
    "all_in_first_pass",
    "no_upper_limit",
    "poor_fit",
    "later_pass_not_smaller",
    "interval_may_be_narrow",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RemovalEstimate:
    """Estimate of the fish present in a closed reach; carries no verdict."""

    n_hat: float  # [fish]; NaN when no estimate exists
    standard_error: float  # [fish], by the published formula
    lower: float  # profile-likelihood limits on whole N [fish]
    upper: float  # infinite when the catches set no upper limit
    confidence: float
    capture_probability: float  # per pass
    capture_standard_error: float
    capture_lower: float  # profile-likelihood limits
    capture_upper: float
    total_catch: int  # [fish]
    n_passes: int
    fit_chi2: float  # catches against a constant capture probability; NaN under 3 passes
    fit_p: float
    method: str  # "two-pass", "maximum-likelihood", "weighted" or "none"
    usable: bool
    reason_code: str
    reason: str  # plain sentence; empty when usable
    cautions: tuple[str, ...]  # codes; see trends/stats/README.md
