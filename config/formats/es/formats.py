"""Spanish as it is written in the United States, where the decimal mark is a point and thousands are parted
by commas, so that a number reads the same on a Spanish page, on a chart and in a file."""

DECIMAL_SEPARATOR = "."
THOUSAND_SEPARATOR = ","
NUMBER_GROUPING = 3
DATE_FORMAT = r"j \d\e F \d\e Y"
SHORT_DATE_FORMAT = "j/n/Y"
DATETIME_FORMAT = r"j \d\e F \d\e Y, H:i"
MONTH_DAY_FORMAT = r"j \d\e F"
YEAR_MONTH_FORMAT = r"F \d\e Y"
TIME_FORMAT = "H:i"
