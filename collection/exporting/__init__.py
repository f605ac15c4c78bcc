"""Lists that leave the house as spreadsheets: what there is to export, and the bottom app's own."""
