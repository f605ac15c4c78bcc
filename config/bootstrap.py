"""Placeholder until the environment bootstrap lands."""


def ensure(argv: list[str]) -> None:
    """Nothing to do inside the project's own environment."""
