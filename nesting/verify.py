"""Independent check of a layout with shapely: nothing overlaps, leaves its sheet, breaks a rule
or is lost."""
