"""Values that stand on a sheet though nobody measured them at this visit: the page says so."""

from surveys.entry.sheet import same_text, written
from surveys.models import Visit, VisitStatus
from surveys.said import said, said_n


def reach_words(visit: Visit, text: str) -> str:
    """Where a reach length comes from if it is the one on record for the station; nothing for any other.

    Parameters
    ----------
    text : the length as it stands on the sheet
    """
    usual = visit.station.reach_length_m
    if usual is None or not text or not same_text(text, written(usual)):
        return ""
    earlier = (
        Visit.objects.filter(station=visit.station_id, visit_date__lt=visit.visit_date)
        .exclude(status=VisitStatus.WITHDRAWN)
        .order_by("-visit_date")
        .values_list("reach_length_m", flat=True)
    )
    same = 0
    for length in earlier:
        if length != usual:
            break
        same += 1
    words = [said("Carried over: {metres} m is the length on record for the station.", metres=written(usual))]
    if same:
        words.append(
            said_n("It stood so at the last visit too.", "It stood so at the last {n} visits too.", same)
        )
    words.append(said("Where the reach was measured, type what was measured."))
    return " ".join(words)
