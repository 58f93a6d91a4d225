"""What does this room say is wrong or doubtful, and how is it mended? Each sentence with its stable code.

What stands in braces is filled in by whoever says it. Wording may be changed here freely: nothing hangs on it.
"""

from samesky.campaign.messages.sentences import Sentence

DRAFT_TOO_LARGE = Sentence(
    "draft.too-large", "would have more than {largest:.3g} MB.", "A file of runs has one row a run."
)
DRAFT_NOT_REMOVED = Sentence("draft.not-removed", "cannot be removed ({reason}).", "What was typed is kept.")
DRAFT_NOT_LISTED = Sentence("draft.not-listed", "cannot be listed ({reason}).", "Check that it is still there.")
DRAFT_CHANGED_OUTSIDE = Sentence(
    "draft.changed-outside",
    "was changed by other hands (an editor, the command line) since you began to type.",
    "Save over it, and it is kept beside as {beside}; or throw your typing away and take it.",
)
DRAFT_NOT_THROWN_AWAY = Sentence(
    "draft.not-thrown-away", "cannot be thrown away ({reason}).", "Check that you may write to the campaign's folder."
)
DRAFT_NOT_KEPT = Sentence(
    "draft.not-kept",
    "what was typed cannot be kept ({reason}).",
    "Make room on the disk, or check that you may write to the campaign's folder; what was kept stays.",
)
UPLOAD_NO_TRACK = Sentence("upload.no-track", "no file was chosen.", "Choose a GPX, NMEA 0183 or IGC file.")
UPLOAD_TRACK_KIND = Sentence("upload.track-kind", "a file of kind {ending}.", "Expected .gpx, .nmea or .igc.")
UPLOAD_TRACK_GONE = Sentence(
    "upload.track-gone",
    "is no longer held here: it was put into a table, or others came after it.",
    "Choose the file again.",
)
UPLOAD_NOT_HELD = Sentence("upload.not-held", "cannot be held ({reason}).", "Make room on the disk of this machine.")
UPLOAD_TRACK_UNREADABLE = Sentence("upload.track-unreadable", "{found}.", "{mend}")
PAGE_NO_LEG_CHOSEN = Sentence(
    "page.no-leg-chosen", "the first or the last leg of the run was not chosen.", "Choose both."
)
PAGE_NO_SUCH_LEG = Sentence("page.no-such-leg", "has no such leg.", "Choose among those that are listed.")
PAGE_NOT_UNDERSTOOD = Sentence("page.not-understood", "is not understood ({detail}).", "Load the page again.")
PAGE_STALE = Sentence(
    "page.stale", "something was typed or saved since this was shown.", "Look whether it still fits, then put it."
)
PAGE_NO_TRACK_MEASURE = Sentence(
    "page.no-track-measure",
    "asks for no measure that a track can give.",
    "Add one of {measured} under Question first: what matters is fixed before flying.",
)
PAGE_NOT_WHOLE = Sentence("page.not-whole", "found {text}.", "Give a whole number from {low} to {high}.")
PAGE_FIELD_BLANK = Sentence("page.field-blank", "is not given.", "{missing}")
UPLOAD_REPORTS_UNREADABLE = Sentence(
    "upload.reports-unreadable", "{the_file}: {message}", "Choose a text file, or paste the reports."
)
PAGE_NO_REPORTS = Sentence(
    "page.no-reports", "there are none.", "Paste METAR or SPECI reports, or choose a text file with them."
)
PAGE_REPORTS_TOO_LONG = Sentence(
    "page.reports-too-long", "far more was sent than weather reports are long.", "Paste the reports alone."
)
PAGE_NO_OFFSET = Sentence(
    "page.no-offset",
    "is not given.",
    "Write such as +02:00, -05:00 or Z: reports count in UTC, your card in the clock on the wall.",
)
PAGE_WING_HEIGHT = Sentence("page.wing-height", "{error}.", 'Write it with its unit, such as "1.5 m".')
SHELF_NOT_LISTED = Sentence(
    "shelf.not-listed", "cannot be listed ({reason}).", "Check that it is there, and yours to open."
)
SHELF_IS_A_FILE = Sentence(
    "shelf.is-a-file", "is a file, not a folder.", "Name a campaign's folder, or one that holds several."
)
SHELF_NOT_THERE = Sentence(
    "shelf.not-there",
    "there is no such folder.",
    "Check the spelling; to begin without campaigns, make the folder first.",
)
SHELF_NO_SUCH_CAMPAIGN = Sentence(
    "shelf.no-such-campaign", "is no campaign here.", "Choose one from the list, or start one."
)
SHELF_LINK = Sentence(
    "shelf.link",
    "holds a link to another place: {link}.",
    "Put the file itself there; pages read nothing outside a campaign's folder.",
)
SHELF_ONE_CAMPAIGN = Sentence(
    "shelf.one-campaign",
    "these pages were opened for this campaign alone.",
    "Open the folder above it to start others: samesky worksheet FOLDER",
)
SHELF_NO_NAME = Sentence("shelf.no-name", "is no name of a folder ({error}).", "Name another.")
SHELF_NO_TITLE = Sentence("shelf.no-title", "the campaign has no name.", "Give it one: what is compared, and when.")
SHELF_NO_MEASURE = Sentence("shelf.no-measure", "none was chosen.", "Choose what you will fly; one can be added later.")
SHELF_DECIDER_NOT_TICKED = Sentence(
    "shelf.decider-not-ticked",
    "the {title} is to decide, but is not ticked.",
    "Tick it as well, or let another one decide.",
)
UPLOAD_EMPTY = Sentence("upload.empty", "there is no file, or it is empty.", "Choose a CSV file or a workbook.")
UPLOAD_NOTHING_CHOSEN = Sentence(
    "upload.nothing-chosen", "was chosen.", "Choose a zip, a workbook, or campaign.toml and its CSV files together."
)
UPLOAD_NO_CAMPAIGN = Sentence(
    "upload.no-campaign", "there is no campaign.toml among what was chosen.", "Choose all files of one campaign."
)
UPLOAD_SEVERAL_CAMPAIGNS = Sentence(
    "upload.several-campaigns", "there are several campaign.toml, in {where}.", "Choose the folder of one campaign."
)
UPLOAD_NO_SUCH_SHEET = Sentence(
    "upload.no-such-sheet", "has no sheet {stem}; it has {by_plain}.", "Name the sheet of its runs {stem}."
)
PAGE_NO_PAPER = Sentence("page.no-paper", "there are none on {paper}.", "Choose {papers}.")
PAGE_REHEARSAL_STALE = Sentence("page.rehearsal-stale", "is not of what is typed now.", "Press Rehearse once more.")
PAGE_REHEARSAL_BUSY = Sentence(
    "page.rehearsal-busy",
    "another one is being flown just now, and they go one at a time.",
    "Wait until it has answered, then press Rehearse again.",
)
PAGE_NO_PLAN = Sentence("page.no-plan", "there is nothing to go by yet.", "Say first in which hours, on which fuel.")
PAGE_CONFIGURATION_NOT_CHOSEN = Sentence(
    "page.configuration-not-chosen", "which one is compared with {baseline} is not chosen.", "Choose {others}."
)
PAGE_NO_SUCH_CONFIGURATION = Sentence(
    "page.no-such-configuration", "{other} is no configuration beside {baseline}.", "Choose {others}."
)
PAGE_REHEARSAL_CHANGED = Sentence(
    "page.rehearsal-changed", "the campaign was changed just now.", "Press Rehearse once more."
)
TYPED_NO_SUCH_UNIT = Sentence("typed.no-such-unit", "{unit!r} is no unit of {name}.", "Choose one such as {usual}.")
TYPED_NO_SUCH_COLUMN = Sentence("typed.no-such-column", "there is no column {the_column}.", "Load the page again.")
TYPED_CELL_TOO_LONG = Sentence(
    "typed.cell-too-long", "a cell of {count} characters.", "A cell holds {longest_cell} at most."
)
TYPED_TOO_MANY_RUNS = Sentence(
    "typed.too-many-runs", "can have {most_runs} runs at most.", "A file of runs has one row a run."
)
TYPED_NO_UNIT = Sentence("typed.no-unit", "column {the_column} has no unit to change.", "Choose a column of numbers.")
TYPED_COLUMN_NOT_OFFERED = Sentence(
    "typed.column-not-offered", "there is no column {header!r} to add.", "Choose one from the list."
)
TYPED_NOT_READ_BACK = Sentence(
    "typed.not-read-back", "would not read back as it was typed.", "Leave out signs such as quotation marks."
)
TYPED_ROW_CHANGED = Sentence(
    "typed.row-changed",
    "was changed on another page since you saw it.",
    "Look at it, then write yours again or leave it.",
)
TYPED_DENSITY_NEEDED = Sentence(
    "typed.density-needed",
    "{unit} cannot be brought to {unit2} without a density.",
    "Change the header alone, and type the numbers anew.",
)
PAGE_NO_CHANGE = Sentence("page.no-change", "sent a change that is none.", "Load the page again.")
PAGE_TABLE_CHANGED = Sentence(
    "page.table-changed",
    "the table was changed on another page since you saw it.",
    "Go back, copy what you typed, and load the page again.",
)
PASTED_TOO_WIDE = Sentence(
    "pasted.too-wide",
    "the block is {across} columns wide; {what} are left here.",
    "Begin further left, or copy the header with it: then every column is found.",
)
PASTED_NO_RUNS = Sentence("pasted.no-runs", "the file has a header and no runs.", "Take one with a row a run.")
PASTED_NOTHING = Sentence("pasted.nothing", "there is nothing in what was pasted.", "Copy some cells first.")
PASTED_UNIT_NOT_UNDERSTOOD = Sentence(
    "pasted.unit-not-understood",
    "the column {name} here has no unit that is understood.",
    "Give it one under Units and columns first.",
)
PASTED_DENSITY_NEEDED = Sentence(
    "pasted.density-needed",
    "it is in {unit}, and the table here in {unit2}: that takes a density.",
    "Bring both to one unit first.",
)
PASTED_CELL_TAKEN = Sentence(
    "pasted.cell-taken",
    "the cell holds {there!r} already, and {kept!r} would go there.",
    "Nothing was pasted. Begin at an empty row, or empty these cells first.",
)
PAGE_FAULT = Sentence("page.fault", "{words}")
SERVER_PORT = Sentence("server.port", "cannot be opened ({reason}).", "Choose another with --port, or 0 for any.")
SETTINGS_SMALLEST_MISSING = Sentence(
    "settings.smallest-missing",
    "of the {title} the smallest difference that matters is not said.",
    "Go back and give the least one that would change what you do, such as 5 % of the baseline, or 10 ft.",
)
SETTINGS_SMALLEST_UNREADABLE = Sentence(
    "settings.smallest-unreadable",
    "of the {title} the smallest difference that matters is {text}: {found}.",
    "Go back and give it in per cent, such as 5 %{unit}.",
)
SETTINGS_ENTRY_CHANGED = Sentence(
    "settings.entry-changed",
    "{what} was changed on another page since you saw it: {shown} stands there now.",
    "Look at it, then write yours again or leave it.",
)
SETTINGS_FILE_CHANGED = Sentence(
    "settings.file-changed",
    "was changed on another page since you saw it.",
    "Go back, copy what you typed, and load the page again.",
)
SETTINGS_MEASURE_HAS_RUNS = Sentence(
    "settings.measure-has-runs",
    "has runs, so its measure cannot be taken away.",
    "Move the file elsewhere first; a run that does not count says why.",
)
SETTINGS_TABLE_WITHOUT_NAME = Sentence(
    "settings.table-without-name", "the new table has no name.", "Give it one, such as B or 09."
)
TODAY_CLOCK_UNREADABLE = Sentence("today.clock-unreadable", "found {text!r}, which {wrong}.", "{mend}")
REPORT_NO_VERDICT = Sentence("report.no-verdict", "there is no verdict yet.", "{waiting}")
REPORT_ROW_UNFINISHED = Sentence(
    "report.row-unfinished",
    "{without} is not finished.",
    "Finish it, or give the reason in 'exclude': a report shows every run.",
)
