"""The keeper's own spreadsheet comes in: columns, questions, dry run, commit of what was seen, undo of the whole."""
