"""What does this room say is wrong or doubtful, and how is it mended? Each sentence with its stable code.

What stands in braces is filled in by whoever says it. Wording may be changed here freely: nothing hangs on it.
"""

from samesky.campaign.messages.sentences import Sentence

PACKAGE_NO_OBJECT = Sentence(
    "package.no-object",
    "found {said}, expected an object with 'resources'.",
    "Pack the campaign again, or delete the file.",
)
PACKAGE_NO_LIST = Sentence(
    "package.no-list",
    "'resources' is {resources}, expected a list of one resource a file.",
    "Pack the campaign again, or delete the file.",
)
PACKAGE_TOO_MANY = Sentence(
    "package.too-many",
    "'resources' lists {count} files, expected one a measure and a few words.",
    "Pack the campaign again, or delete the file.",
)
PACKAGE_RESOURCE_NO_OBJECT = Sentence(
    "package.resource-no-object",
    "found {resource}, expected an object.",
    "Pack the campaign again, or delete the file.",
)
PACKAGE_PATH_MISSING = Sentence(
    "package.path-missing",
    "'path' is {get}, expected the name of a file.",
    "Pack the campaign again, or delete the file.",
)
PACKAGE_NAME_MISSING = Sentence(
    "package.name-missing", "'name' is {get}, expected a name.", "Pack the campaign again, or delete the file."
)
PACKAGE_BYTES = Sentence(
    "package.bytes", "'bytes' is {size}, expected the size of {path}.", "Pack the campaign again, or delete the file."
)
PACKAGE_HASH = Sentence(
    "package.hash",
    "'hash' is {told}, expected a hash such as sha256:… of one of {hashes}.",
    "Pack the campaign again, or delete the file.",
)
PACKAGE_SCHEMA = Sentence(
    "package.schema",
    "'schema' has no list of 'fields' with a name each.",
    "Pack the campaign again, or delete the file.",
)
PACKAGE_FILE_GONE = Sentence(
    "package.file-gone",
    "the file is described in {description}, and is not there.",
    "If that was meant, pack again: samesky pack DIR --out DIR",
)
PACKAGE_FILE_TOO_LARGE_TO_HOLD = Sentence(
    "package.file-too-large-to-hold", "the file is larger than {largest:.3g} MB; it was not held against {description}."
)
PACKAGE_FILE_CHANGED = Sentence(
    "package.file-changed",
    "the file has changed since {description} was written.",
    "If that was meant, pack again: samesky pack DIR --out DIR",
)
PACKAGE_FILE_NOT_DESCRIBED = Sentence(
    "package.file-not-described",
    "the file is not described in {description}.",
    "If that was meant, pack again: samesky pack DIR --out DIR",
)
PACKAGE_LINK = Sentence(
    "package.link",
    "it is a link, a folder or a device; it was not opened.",
    "Pack the campaign again, or delete the file.",
)
PACKAGE_TOO_LARGE = Sentence(
    "package.too-large",
    "the description is {st_size:.3g} MB, expected some kilobytes.",
    "Pack the campaign again, or delete the file.",
)
PACKAGE_FILE_NOT_READ = Sentence(
    "package.file-not-read", "the file cannot be read ({reason}).", "Check that you may open it."
)
PACKAGE_NO_TEXT = Sentence(
    "package.no-text", "the file is not text in UTF-8, as JSON is.", "Pack the campaign again, or delete the file."
)
PACKAGE_NO_JSON = Sentence(
    "package.no-json",
    "it is not JSON: {msg} at line {lineno}, column {colno}.",
    "Pack the campaign again, or delete the file.",
)
PACKAGE_TOO_DEEP = Sentence(
    "package.too-deep", "lists or objects are nested too deeply.", "Pack the campaign again, or delete the file."
)
PACKAGE_NO_JSON_VALUE = Sentence(
    "package.no-json-value", "it is not JSON: {error}.", "Pack the campaign again, or delete the file."
)
PACKAGE_NAME_TWICE = Sentence(
    "package.name-twice",
    "'name' is {resource}, as of another resource; expected one of its own.",
    "Pack the campaign again, or delete the file.",
)
PACKAGE_PATH_ELSEWHERE = Sentence(
    "package.path-elsewhere",
    "'path' is {path}, which {wrong}; it was not opened.",
    "Describe files of this folder only.",
)
PACKAGE_COLUMNS_DIFFER = Sentence(
    "package.columns-differ",
    "its columns are not those of its 'schema': {first_apart}.",
    "If that was meant, pack again: samesky pack DIR --out DIR",
)
PACKAGE_FOLDER_NOT_LISTED = Sentence(
    "package.folder-not-listed", "cannot be listed ({reason}).", "Name a campaign's folder."
)
PACKAGE_FILE_TOO_LARGE = Sentence(
    "package.file-too-large",
    "the file is {st_size:.3g} MB, or no plain file; at most {largest:.3g} MB are taken.",
    "Move {name} out of the folder: recordings of every second belong elsewhere.",
)
PACK_ENDING = Sentence(
    "pack.ending", "is neither {zip} nor {workbook} nor a folder.", "Say what to write by its ending."
)
PACK_LINKS = Sentence(
    "pack.links",
    "cannot be packed: {links} leads to another place.",
    "Put the file itself there: what lies elsewhere is not handed on.",
)
PACK_NO_CAMPAIGN = Sentence(
    "pack.no-campaign", "cannot be packed: there is no campaign.toml in it.", "Name the folder of a campaign."
)
UNPACK_FOLDER = Sentence("unpack.folder", "{wrong}.", "Name a new folder; nothing was changed.")
PACK_FILE_REFUSED = Sentence(
    "pack.file-refused", "cannot be packed: {which}{message}", "Rename, mend or move away that file."
)
WORKBOOK_NO_CAMPAIGN = Sentence(
    "workbook.no-campaign",
    "is no campaign: the workbook has no sheet for campaign.toml.",
    "Put the runs into a campaign that is there, or start one: samesky new DIR",
)
UNPACK_NOT_A_FILE = Sentence(
    "unpack.not-a-file", "is a folder, a device or a pipe, not a file.", "Name a {zip} or a {workbook}."
)
UNPACK_TOO_LARGE = Sentence(
    "unpack.too-large", "the file is {size:.3g} MB, expected at most {most}.", "Zip the text files only."
)
UNPACK_NOT_READ = Sentence(
    "unpack.not-read", "the file cannot be read ({reason}).", "Check its name, and that you may open it."
)
UNPACK_FOLDER_NOT_OPENED = Sentence("unpack.folder-not-opened", "cannot be opened ({reason}).", "Name a new folder.")
WORKBOOK_BLANK = Sentence("workbook.blank", "every sheet is blank.", "Fill in the sheet of a measure, one row a run.")
WORKBOOK_SHEET_NAME = Sentence(
    "workbook.sheet-name",
    "has a name that no file of runs can have; expected letters, digits, _ - and spaces.",
    "Name the sheet as its measure, such as takeoff_roll.",
)
WORKBOOK_NO_HEADER = Sentence("workbook.no-header", "has no header.", "Its first row names the columns.")
WORKBOOK_TOO_MANY_ROWS = Sentence(
    "workbook.too-many-rows",
    "the sheet reaches down to row {last}; it may have at most {most_rows} rows.",
    "Write one row a run, without gaps; recordings belong elsewhere.",
)
WORKBOOK_CELL_KIND = Sentence("workbook.cell-kind", "found {value}, expected a number or text.", "Write what was read.")
WORKBOOK_NO_SETTINGS_COLUMN = Sentence(
    "workbook.no-settings-column",
    "has no column {name!r} in its first row; found {header}.",
    "Its first row has part, entry and value; samesky new NAME --xlsx writes one.",
)
WORKBOOK_REMARKS = Sentence(
    "workbook.remarks",
    "{message}",
    "Delete the sheet {remarks!r}: the template's remarks are then used, with the values of {campaign!r}.",
)
WORKBOOK_VALUE_WITHOUT_PART = Sentence(
    "workbook.value-without-part",
    "found the value {text} without its part.",
    "Write the part that it belongs to, such as swap, or runway.09.",
)
WORKBOOK_VALUE_WITHOUT_ENTRY = Sentence(
    "workbook.value-without-entry", "found the value {text} without its entry.", "Write the entry's name."
)
WORKBOOK_VALUE_TWICE = Sentence(
    "workbook.value-twice", "found {table} {name} a second time; it stands in row {seen}.", "Keep one of the two rows."
)
WORKBOOK_SHEETS_HIDDEN = Sentence(
    "workbook.sheets-hidden",
    "lists {listed} sheets, but {count} can be found as sheets of cells.",
    "Copy the filled cells, as values, into a fresh workbook: samesky new NAME --xlsx",
)
WORKBOOK_TOO_MANY_SHEETS = Sentence(
    "workbook.too-many-sheets",
    "has {count} sheets, expected at most {most_sheets}.",
    "Copy the filled cells, as values, into a fresh workbook: samesky new NAME --xlsx",
)
WORKBOOK_MACROS = Sentence(
    "workbook.macros", "holds macros (programs), which are never opened.", "Save it as .xlsx, without macros."
)
WORKBOOK_FOR_MACROS = Sentence(
    "workbook.for-macros", "is a workbook for macros (.xlsm).", "Save it as .xlsx, without macros."
)
WORKBOOK_BINARY = Sentence("workbook.binary", "is a binary workbook (.xlsb).", "Save it as .xlsx.")
WORKBOOK_NONE = Sentence(
    "workbook.none", "is no workbook: it is {sort}.", "Save it as .xlsx; a zipped campaign is named .zip."
)
WORKBOOK_CHART = Sentence("workbook.chart", "holds a sheet that is one chart.", "Delete that sheet, and save again.")
WORKBOOK_NO_XML = Sentence(
    "workbook.no-xml",
    "is not opened: its part {name} is no XML in UTF-8.",
    "Copy the filled cells, as values, into a fresh workbook: samesky new NAME --xlsx",
)
WORKBOOK_ENTITIES = Sentence(
    "workbook.entities",
    "is not opened: its part {name} declares entities, which no spreadsheet writes.",
    (
        "It was made to do harm, or by an unusual program. Copy the filled cells, as values, into a fresh "
        "workbook: samesky new NAME --xlsx"
    ),
)
WORKBOOK_SHEET_HIDDEN = Sentence(
    "workbook.sheet-hidden", "is hidden: what is in it cannot be seen.", "Show it, or delete it."
)
WORKBOOK_MERGED = Sentence("workbook.merged", "are merged.", "Take them apart: one value, one cell.")
WORKBOOK_NO_LIBRARY = Sentence(
    "workbook.no-library",
    "a workbook needs the library openpyxl, which is not installed.",
    "Install it with pip install 'samesky[workbook]', or use the CSV files.",
)
WORKBOOK_DAMAGED = Sentence(
    "workbook.damaged",
    "is damaged ({name}: {reason}).",
    "Copy the filled cells, as values, into a fresh workbook: samesky new NAME --xlsx",
)
WORKBOOK_CROWDED = Sentence(
    "workbook.crowded",
    "its sheets have {count} {what}, blank ones with a format among them; expected at most {most}.",
    "Copy the filled cells, as values, into a fresh workbook: samesky new NAME --xlsx",
)
WORKBOOK_MERGED_CELLS = Sentence(
    "workbook.merged-cells", "has merged cells, {where} among them.", "Take them apart: one value, one cell."
)
WORKBOOK_FORMULA = Sentence(
    "workbook.formula",
    "found the formula {formula}, expected a value.",
    "Write the value itself: copy the cell, and paste it as a value.",
)
WORKBOOK_ERROR_VALUE = Sentence(
    "workbook.error-value", "found the error {value}, expected a value.", "Write the value, or empty the cell."
)
WORKBOOK_BEYOND_MEASURE = Sentence(
    "workbook.beyond-measure",
    "found a number beyond all measure, expected one that was read.",
    "Write the value, or empty the cell.",
)
WORKBOOK_TOO_FAR_RIGHT = Sentence(
    "workbook.too-far-right",
    "found {value}, far to the right of any run.",
    "Use the first {most_columns} columns, or empty the cell.",
)
WORKBOOK_HIDDEN_CELL = Sentence(
    "workbook.hidden-cell",
    "found {value} in a {what} that is hidden.",
    "Show the {what} (a filter may hide it), or delete it.",
)
WORKBOOK_NAME_NOT_A_SHEET = Sentence(
    "workbook.name-not-a-sheet",
    (
        "cannot be a sheet of a workbook: {name} is longer than {longest_name} signs, taken, or has a sign "
        "that no sheet's name may have."
    ),
    "Rename the file, and its [measure] table, or zip the folder instead.",
)
WORKBOOK_TEXT_TOO_LONG = Sentence(
    "workbook.text-too-long",
    "the text has {count} signs; a cell of a workbook holds at most {longest_text}.",
    "Shorten it, or zip the folder instead.",
)
WORKBOOK_ROW_LENGTH = Sentence(
    "workbook.row-length",
    "the row has {count} cells, expected {count2} as in the header.",
    "Give it a comma for each blank cell, then write the workbook again.",
)
ZIP_SEVERAL_CAMPAIGNS = Sentence(
    "zip.several-campaigns", "{where}.", "Zip one campaign folder, the one that the command line would be given."
)
ZIP_TOO_LARGE = Sentence(
    "zip.too-large",
    "the zip is {count:.3g} MB; a zipped campaign may have at most {largest_zip:.3g} MB.",
    "Zip the campaign's text files only; recordings and pictures belong elsewhere.",
)
ZIP_NONE = Sentence("zip.none", "is no zip: it is {sort}.", "Zip the campaign folder, or open the folder itself.")
ZIP_TOO_MANY_FILES = Sentence(
    "zip.too-many-files", "the zip holds more than {most_members} files.", "Zip one campaign folder."
)
ZIP_OVERLAPPING = Sentence(
    "zip.overlapping",
    "the zip is not opened: its members overlap or lie outside it.",
    "It is damaged, or made to do harm: ask its sender for a plain zip of the campaign folder.",
)
ZIP_ARCHIVE_INSIDE = Sentence(
    "zip.archive-inside",
    "the zip is not opened: its member {name} is an archive inside the archive.",
    "Unpack it, and zip the campaign's text files only.",
)
ZIP_OFFICE_DOCUMENT = Sentence(
    "zip.office-document", "is no zipped campaign: it is an office document (.ods or .odt).", "Zip the folder."
)
ZIP_DAMAGED = Sentence(
    "zip.damaged",
    "the zip is damaged or cut short ({error}).",
    "Send or copy it again, and compare its size with the original.",
)
ZIP_LEFT_OUT = Sentence(
    "zip.left-out",
    "left out of the zip, which a campaign is not made of: {shown}.",
    "Taken are campaign.toml, {suffix} and {description}, in one folder.",
)
ZIP_REFUSED = Sentence("zip.refused", "the zip is not opened: {wrong}.", "Zip the campaign's text files only.")
ZIP_OTHER_KIND = Sentence(
    "zip.other-kind", "is no zipped campaign: it is {sort}.", "Give it its own ending, or zip the folder."
)
ZIP_NAME = Sentence(
    "zip.name",
    "the zip is not opened: its member {name} {wrong}.",
    "Ask its sender for a plain zip of the campaign folder.",
)
ZIP_SAME_NAME = Sentence(
    "zip.same-name",
    "the zip is not opened: {seen} and {name} would be one and the same file.",
    "Give every file its own name, in more than capitals, and zip again.",
)
ZIP_FOLDER_AND_FILE = Sentence(
    "zip.folder-and-file", "the zip is not opened: {both}.", "Ask its sender for a plain zip of the campaign folder."
)
WORKBOOK_NO_ZIP = Sentence(
    "workbook.no-zip",
    "is no workbook: it is {sort}.",
    "Save it from the spreadsheet as a workbook (.xlsx) without a password; a text file is named .csv.",
)
WORKBOOK_UNSAFE = Sentence(
    "workbook.unsafe", "{message}", "Copy the filled cells, as values, into a fresh workbook: samesky new NAME --xlsx"
)
