"""Readings in and out: what sensors send, what it means for those who live there, and when it is an alarm."""
