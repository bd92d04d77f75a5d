"""Every sentence of its own that the program says when something happens, by name."""

SAVED = "all saved"
NEW_CASE = "nothing to save yet"
SAVING_FAILED = "not saved"
OPENED = "Opened {name}."
COPIED = "An example: what you change goes into a copy."
UNDONE = "Taken back: {what}."
REDONE = "Done again: {what}."
ASSESSING_FAILED = "These answers could not be weighed. Nothing is lost: the case is saved."
TAKE_BACK = "Take the last answer back (Ctrl+Z), or open the case again."
LOADING = "Opening the knowledge base …"
LOADING_FAILED = "The knowledge base can't be used."
SHOP_FOLDER_FAILED = "A folder laid over the base does not fit. Go on without it, or mend it."
NOTHING_MENDED = (
    "Nothing had been put right, so nothing is closed: say what was done, or watch whether it "
    "comes back."
)
NOTHING_TYPED = "Type what you read, with its unit."
CRASHED = (
    "Something went wrong inside the program. Your case is kept: {saved}. What happened is written "
    "in {log}. You can go on; if something looks odd, start the program again."
)
NO_HOURS = "Write the hours as a number between 0.1 and 100, such as 4.5."
NO_LIMIT = "Write the customer's limit in hours, as a number between 0.1 and 100, such as 2."
NO_MONEY = "Write the money for an hour as a number, with its currency if you like: 85 EUR."
WRITING = "Writing the handbook …"
HANDBOOK_SAVED = "The handbook is in {path}."
