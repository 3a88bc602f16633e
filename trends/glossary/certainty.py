"""The words for certainty with their limits, as the table of the methods page shows them."""

from dataclasses import dataclass

from trends import wording
from trends.assessments import LEANING, LEAST_YEARS, LIKELY, VERY_LIKELY
from trends.outcomes import Certainty, Direction, Period


@dataclass(frozen=True, slots=True, kw_only=True)
class CertaintyRow:
    """One line of the table: the limits and the words of both readers."""

    certainty: Certainty
    confidence: str
    p_value: str
    staff: str
    public: str


def _example(certainty: Certainty, direction: Direction) -> Period:
    return Period(
        method="", method_name="", first_year=2001, last_year=2010, n=10, n_values=10, stations=("A",),
        certainty=certainty, direction=direction, good=None if direction == "none" else direction == "up",
    )  # fmt: skip


def public_and_staff(certainty: Certainty) -> tuple[str, str]:
    """The words the pages really use, for the staff and for the public."""
    if certainty in ("unclear", "steady", "disagree", "not_assessed"):
        one = _example(certainty, "none")
        return wording.verdict_word(one, staff=True), wording.verdict_word(one, staff=False)
    up, down = _example(certainty, "up"), _example(certainty, "down")
    staff = _joined(wording.verdict_word(up, staff=True), wording.verdict_word(down, staff=True))
    public = _joined(wording.verdict_word(up, staff=False), wording.verdict_word(down, staff=False))
    return staff, public


def _joined(better: str, worse: str) -> str:
    if better == worse:
        return better
    return f"{better}, or {worse}"


def _p(confidence: float) -> str:
    """The two-sided p that a confidence in the direction stands for."""
    return f"{2 * (1 - confidence):.2f}"


def _row(certainty: Certainty, confidence: str, p_value: str) -> CertaintyRow:
    staff, public = public_and_staff(certainty)
    return CertaintyRow(
        certainty=certainty, confidence=confidence, p_value=p_value, staff=staff, public=public
    )


CERTAINTY: tuple[CertaintyRow, ...] = (
    _row("very_likely", f"{VERY_LIKELY:.2f} or more", f"{_p(VERY_LIKELY)} or less"),
    _row("likely", f"{LIKELY:.2f} to {VERY_LIKELY:.2f}", f"{_p(VERY_LIKELY)} to {_p(LIKELY)}"),
    _row("leaning", f"{LEANING:.2f} to {LIKELY:.2f}", f"{_p(LIKELY)} to {_p(LEANING)}"),
    _row("unclear", f"below {LEANING:.2f}, or a median change of zero", f"above {_p(LEANING)}"),
    _row("steady", "not used: the interval decides, see the steady rule", "not used"),
    _row("disagree", "not used: the test of agreement between stations decides", "not used"),
    _row("not_assessed", f"not made: fewer than {LEAST_YEARS} comparable years", "not made"),
)
