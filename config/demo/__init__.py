"""The invented collection that shows what the program does. No animal, person or place in it is real."""
