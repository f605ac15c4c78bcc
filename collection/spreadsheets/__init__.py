"""Reading what keepers' spreadsheets really hold.

Pure: bytes and cells in, readings or sentences out; no Django, no clock, no files.
"""
