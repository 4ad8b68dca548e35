"""Day before month in words, so that nobody on either side of an ocean reads 9 May as 5 September; 24 hours."""

DATE_FORMAT = "j F Y"
SHORT_DATE_FORMAT = "j M Y"
MONTH_DAY_FORMAT = "j F"
YEAR_MONTH_FORMAT = "F Y"
TIME_FORMAT = "H:i"
DATETIME_FORMAT = "j F Y, H:i"
SHORT_DATETIME_FORMAT = "j M Y, H:i"
