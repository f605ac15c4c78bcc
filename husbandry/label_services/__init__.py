"""Labels: what each says, what was printed and under which address."""
