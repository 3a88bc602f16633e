"""English: the day before the month, the month in letters, so that no reader takes one for the other."""

DATE_FORMAT = "j F Y"
DATETIME_FORMAT = "j F Y, H:i"
MONTH_DAY_FORMAT = "j F"
YEAR_MONTH_FORMAT = "F Y"
TIME_FORMAT = "H:i"
