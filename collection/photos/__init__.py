"""Pictures: how they come in, where their files lie, and the records that name them."""
