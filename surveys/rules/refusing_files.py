"""The rules that refuse a file or a list before its content is looked at row by row. Pure code."""

from typing import Final

from surveys.rules.rule import FILES, HARD, LISTS, Rule
from surveys.said import marked

# Code, title, why it refuses and what to do.
_READING: Final = (
    (
        "too_large",
        marked("The file is too large"),
        marked("It is over the limit of this site. Send it in parts."),
    ),
    ("empty_file", marked("The file is empty"), marked("Check that the right file was saved and chosen.")),
    (
        "wrong_ending",
        marked("A kind of file that is not read here"),
        marked("Save it as .csv (UTF-8) or as .xlsx."),
    ),
    (
        "ending_disagrees",
        marked("Name and content disagree"),
        marked("The content is of another kind than the name says. Save it anew."),
    ),
    ("too_many_rows", marked("Too many rows"), marked("Send it in parts, one season at a time.")),
    (
        "encoding",
        marked("Letters that cannot be read"),
        marked("The text is not UTF-8, so names would be garbled. Save it as CSV UTF-8."),
    ),
    (
        "bad_quotes",
        marked("A quote that is not closed"),
        marked("From there on rows run together. Close the quote or delete it."),
    ),
    (
        "ragged_row",
        marked("A row with more or fewer cells than headings"),
        marked("Values would slip into other columns. Look for a missing or an extra separator."),
    ),
    ("only_headings", marked("Headings, but no rows"), marked("Check that the right sheet was saved.")),
    (
        "not_a_table",
        marked("No heading is known"),
        marked("The first line has to hold the headings. Put them there."),
    ),
    (
        "title_above",
        marked("A title over the table"),
        marked(
            "The first line fills far fewer columns than the next, so it holds no headings. Delete the lines above "
            "them."
        ),
    ),
    (
        "duplicate_heading",
        marked("A heading that is there twice"),
        marked("Which one counts is not guessed. Keep one, or rename the others."),
    ),
    (
        "missing_column",
        marked("A column is missing"),
        marked("Every row needs it. Add it, or rename the column that holds it."),
    ),
    (
        "workbook_too_large",
        marked("The workbook is too large"),
        marked("Unpacked it is over the limit. Save the sheet as CSV."),
    ),
    (
        "not_a_workbook",
        marked("The workbook cannot be opened"),
        marked("It is damaged or of another kind. Save it anew as .xlsx."),
    ),
    (
        "declarations",
        marked("A workbook that declares words of its own"),
        marked(
            "No spreadsheet program writes such a document type, so it is not read. Open the workbook in one and "
            "save it again as .xlsx."
        ),
    ),
    (
        "locked_workbook",
        marked("The workbook has a password"),
        marked("Save it without a password, as .xlsx."),
    ),
    (
        "formula_without_value",
        marked("A formula without a result"),
        marked(
            "Formulas are not worked out here. Open and save the workbook, or paste the values over them."
        ),
    ),
    (
        "macros",
        marked("The workbook carries macros"),
        marked("Programs in files are not taken. Save it as a plain .xlsx."),
    ),
    (
        "too_many_sheets",
        marked("The workbook has too many sheets"),
        marked("Copy the sheets with the data into a new workbook."),
    ),
    (
        "sheet_missing",
        marked("A sheet of the mapping is missing"),
        marked("The mapping was made for another workbook. Choose or make another."),
    ),
    (
        "heading_missing",
        marked("A heading of the mapping is missing"),
        marked("The mapping was made for another layout. Choose or make another."),
    ),
    (
        "no_row",
        marked("The mapping finds no catch"),
        marked("Say which columns hold station, day, taxon and count."),
    ),
    (
        "no_visit_for_line",
        marked("A line that names no visit"),
        marked("Fill in station and day, or map the column that ties the sheets together."),
    ),
    (
        "visit_key_twice",
        marked("A key that stands for two visits"),
        marked("Give each visit a key of its own."),
    ),
    (
        "sheets_disagree",
        marked("Sheets that disagree on a visit"),
        marked("It is one value for the visit. Correct one of the two."),
    ),
)
_LISTS: Final = (
    (
        "half_a_position",
        marked("Half a position"),
        marked("One of latitude and longitude is empty. Give both or none."),
    ),
    (
        "own_control",
        marked("A station that is its own control"),
        marked("A control is another station. Correct the code."),
    ),
    (
        "name_taken",
        marked("A name that is another taxon’s"),
        marked("Write the accepted name, or take the other name off that taxon first."),
    ),
    (
        "code_taken",
        marked("A code that is another taxon’s"),
        marked("Two taxa under one code cannot be told apart. Choose another code."),
    ),
    (
        "alias_taken",
        marked("Another name that is a taxon’s own"),
        marked("A name stands for one taxon. Take it off one of the two."),
    ),
    ("ends_before_it_starts", marked("A note that ends before it starts"), marked("Check both dates.")),
    (
        "station_elsewhere",
        marked("A station of another watershed"),
        marked("Correct the station or the watershed."),
    ),
    (
        "above_100",
        marked("Shares above 100 %"),
        marked("Hard surfaces and forest together are at most the whole. Check both."),
    ),
    (
        "not_json",
        marked("Not JSON"),
        marked("The shapes are read from GeoJSON in UTF-8. Export the layer as GeoJSON."),
    ),
    (
        "not_geojson",
        marked("Not GeoJSON"),
        marked("The file holds no collection of features. Export the layer as GeoJSON."),
    ),
    (
        "other_datum",
        marked("Shapes of another datum"),
        marked("Positions are taken as WGS 84. Export the layer in WGS 84."),
    ),
    ("empty", marked("No shape in the file"), marked("Check what was exported.")),
    (
        "unknown_watershed",
        marked("A watershed that is not known"),
        marked("The name is not on the list. Correct it, or load its stations first."),
    ),
    (
        "other_geometry",
        marked("A shape of another kind"),
        marked("Outlines are areas and courses are lines. Export those."),
    ),
    (
        "open_ring",
        marked("An outline that is not closed"),
        marked("An outline ends where it begins. Mend it in the program it is from."),
    ),
    (
        "too_many_points",
        marked("A shape with too many points"),
        marked("It would make the pages slow. Simplify the shape first."),
    ),
    (
        "bad_position",
        marked("A position that is none on earth"),
        marked("Positions are longitude and latitude in degrees. Check the order and the datum."),
    ),
)

REFUSING_FILES: Final = tuple(
    Rule(code=code, title=title, explanation=explanation, level=HARD, about=about)
    for rules, about in ((_READING, FILES), (_LISTS, LISTS))
    for code, title, explanation in rules
)
