"""Accounts: first set-up, signing in and out, devices, people and their rights."""
