"""The rules that refuse a file or a list before its content is looked at row by row. Pure code."""

from typing import Final

from surveys.rules.rule import FILES, HARD, LISTS, Rule

# Code, title, why it refuses and what to do.
_READING: Final = (
    ("too_large", "The file is too large", "It is over the limit of this site. Send it in parts."),
    ("empty_file", "The file is empty", "Check that the right file was saved and chosen."),
    ("wrong_ending", "A kind of file that is not read here", "Save it as .csv (UTF-8) or as .xlsx."),
    (
        "ending_disagrees",
        "Name and content disagree",
        "The content is of another kind than the name says. Save it anew.",
    ),
    ("too_many_rows", "Too many rows", "Send it in parts, one season at a time."),
    (
        "encoding",
        "Letters that cannot be read",
        "The text is not UTF-8, so names would be garbled. Save it as CSV UTF-8.",
    ),
    (
        "bad_quotes",
        "A quote that is not closed",
        "From there on rows run together. Close the quote or delete it.",
    ),
    (
        "ragged_row",
        "A row with more or fewer cells than headings",
        "Values would slip into other columns. Look for a missing or an extra separator.",
    ),
    ("only_headings", "Headings, but no rows", "Check that the right sheet was saved."),
    ("not_a_table", "No heading is known", "The first line has to hold the headings. Put them there."),
    (
        "title_above",
        "A title over the table",
        "The first line fills far fewer columns than the next, so it holds no headings. Delete the lines above "
        "them.",
    ),
    (
        "duplicate_heading",
        "A heading that is there twice",
        "Which one counts is not guessed. Keep one, or rename the others.",
    ),
    (
        "missing_column",
        "A column is missing",
        "Every row needs it. Add it, or rename the column that holds it.",
    ),
    (
        "workbook_too_large",
        "The workbook is too large",
        "Unpacked it is over the limit. Save the sheet as CSV.",
    ),
    (
        "not_a_workbook",
        "The workbook cannot be opened",
        "It is damaged or of another kind. Save it anew as .xlsx.",
    ),
    (
        "declarations",
        "A workbook that declares words of its own",
        "No spreadsheet program writes such a document type, so it is not read. Open the workbook in one and "
        "save it again as .xlsx.",
    ),
    ("locked_workbook", "The workbook has a password", "Save it without a password, as .xlsx."),
    (
        "formula_without_value",
        "A formula without a result",
        "Formulas are not worked out here. Open and save the workbook, or paste the values over them.",
    ),
    ("macros", "The workbook carries macros", "Programs in files are not taken. Save it as a plain .xlsx."),
    (
        "too_many_sheets",
        "The workbook has too many sheets",
        "Copy the sheets with the data into a new workbook.",
    ),
    (
        "sheet_missing",
        "A sheet of the mapping is missing",
        "The mapping was made for another workbook. Choose or make another.",
    ),
    (
        "heading_missing",
        "A heading of the mapping is missing",
        "The mapping was made for another layout. Choose or make another.",
    ),
    ("no_row", "The mapping finds no catch", "Say which columns hold station, day, taxon and count."),
    (
        "no_visit_for_line",
        "A line that names no visit",
        "Fill in station and day, or map the column that ties the sheets together.",
    ),
    ("visit_key_twice", "A key that stands for two visits", "Give each visit a key of its own."),
    (
        "sheets_disagree",
        "Sheets that disagree on a visit",
        "It is one value for the visit. Correct one of the two.",
    ),
)
_LISTS: Final = (
    ("half_a_position", "Half a position", "One of latitude and longitude is empty. Give both or none."),
    ("own_control", "A station that is its own control", "A control is another station. Correct the code."),
    (
        "name_taken",
        "A name that is another taxon’s",
        "Write the accepted name, or take the other name off that taxon first.",
    ),
    (
        "code_taken",
        "A code that is another taxon’s",
        "Two taxa under one code cannot be told apart. Choose another code.",
    ),
    (
        "alias_taken",
        "Another name that is a taxon’s own",
        "A name stands for one taxon. Take it off one of the two.",
    ),
    ("ends_before_it_starts", "A note that ends before it starts", "Check both dates."),
    ("station_elsewhere", "A station of another watershed", "Correct the station or the watershed."),
    (
        "above_100",
        "Shares above 100 %",
        "Hard surfaces and forest together are at most the whole. Check both.",
    ),
    ("not_json", "Not JSON", "The shapes are read from GeoJSON in UTF-8. Export the layer as GeoJSON."),
    ("not_geojson", "Not GeoJSON", "The file holds no collection of features. Export the layer as GeoJSON."),
    ("other_datum", "Shapes of another datum", "Positions are taken as WGS 84. Export the layer in WGS 84."),
    ("empty", "No shape in the file", "Check what was exported."),
    (
        "unknown_watershed",
        "A watershed that is not known",
        "The name is not on the list. Correct it, or load its stations first.",
    ),
    ("other_geometry", "A shape of another kind", "Outlines are areas and courses are lines. Export those."),
    (
        "open_ring",
        "An outline that is not closed",
        "An outline ends where it begins. Mend it in the program it is from.",
    ),
    (
        "too_many_points",
        "A shape with too many points",
        "It would make the pages slow. Simplify the shape first.",
    ),
    (
        "bad_position",
        "A position that is none on earth",
        "Positions are longitude and latitude in degrees. Check the order and the datum.",
    ),
)

REFUSING_FILES: Final = tuple(
    Rule(code=code, title=title, explanation=explanation, level=HARD, about=about)
    for rules, about in ((_READING, FILES), (_LISTS, LISTS))
    for code, title, explanation in rules
)
