"""The words for certainty with their limits, as the table of the methods page shows them."""

from dataclasses import dataclass

from surveys.language import marked, said, worded
from trends import wording
from trends.assessments import LEANING, LEAST_YEARS, LIKELY, VERY_LIKELY
from trends.outcomes import Certainty, Direction, Period


@dataclass(frozen=True, slots=True, kw_only=True)
class CertaintyRow:
    """One line of the table: the limits, and the words of both readers as the pages say them today."""

    certainty: Certainty
    confidence: str
    p_value: str

    @property
    def staff(self) -> str:
        return public_and_staff(self.certainty)[0]

    @property
    def public(self) -> str:
        return public_and_staff(self.certainty)[1]


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
    return worded("{better}, or {worse}", better=better, worse=worse)


def _p(confidence: float) -> str:
    """The two-sided p that a confidence in the direction stands for."""
    return f"{2 * (1 - confidence):.2f}"


def _range(low: str, high: str) -> str:
    return said("{first} to {last}", first=low, last=high)


def _row(certainty: Certainty, confidence: str, p_value: str) -> CertaintyRow:
    return CertaintyRow(certainty=certainty, confidence=confidence, p_value=p_value)


CERTAINTY: tuple[CertaintyRow, ...] = (
    _row(
        "very_likely",
        said("{low} or more", low=f"{VERY_LIKELY:.2f}"),
        said("{high} or less", high=_p(VERY_LIKELY)),
    ),
    _row("likely", _range(f"{LIKELY:.2f}", f"{VERY_LIKELY:.2f}"), _range(_p(VERY_LIKELY), _p(LIKELY))),
    _row("leaning", _range(f"{LEANING:.2f}", f"{LIKELY:.2f}"), _range(_p(LIKELY), _p(LEANING))),
    _row(
        "unclear",
        said("below {low}, or a median change of zero", low=f"{LEANING:.2f}"),
        said("above {low}", low=_p(LEANING)),
    ),
    _row("steady", marked("not used: the interval decides, see the steady rule"), marked("not used")),
    _row("disagree", marked("not used: the test of agreement between stations decides"), marked("not used")),
    _row(
        "not_assessed",
        said("not made: fewer than {least} comparable years", least=LEAST_YEARS),
        marked("not made"),
    ),
)
