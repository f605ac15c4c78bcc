"""How fast the program answers on a collection of a given size. Run by `manage.py bench`, never by the tests."""
