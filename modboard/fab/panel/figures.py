"""Figures of panels, mm, each with its source.

"Guideline" stands for published capability tables and guideline texts of board houses; "common practice" for what has
no published source.
"""

RAIL = 10.0  # width; guideline 5 to 10
NARROWEST_RAIL, WIDEST_RAIL = 5.0, 20.0
TOOLING_HOLE = 3.0  # guideline: four of 3.0 to 3.2, not plated
FIDUCIAL = 1.0  # IPC-7351 3.4.4: solid round copper, 1.0 to 3.0
FIDUCIAL_OPENING = 2.0  # IPC-7351 3.4.4: clear area of at least twice the mark's diameter
FIDUCIAL_FROM_EDGE = 4.75  # to its clear area, where the rail is wide enough; SMEMA guideline
FIDUCIAL_FROM_HOLE = 7.0  # common practice: clear of the tooling hole and its pin
SLOT = 2.0  # guideline: 2.0 to 2.4, the router bit
TAB = 5.0  # width; common practice 2.5 to 5.0
EDGE_PER_TAB = 60.0  # guideline: one tab for each 38 to 76 of edge
FEWEST_TABS = 3  # common practice
BITE = 0.6  # hole; guideline 0.5 to 0.8
BITE_PITCH = 0.95  # leaves webs of 0.35; common practice: pitch 0.75 to 1.0, web at least 0.25
# How far the row's middle lies outside the board's edge: on it where copper allows, else as little as copper asks; the
# stub that is left is filed flush.  Common practice.
BITE_OUTWARD = (0.0, 0.1, 0.2, 0.3)
BITES = 5  # of one tab; common practice
BITE_TO_COPPER = 0.5  # common practice, tracks
SCORE_LINE = 0.4  # width of the groove; guideline 0.4 to 0.5
SCORE_TO_COPPER = 0.8  # from the line's centre; guideline
SCORE_TO_BODY = 1.0  # guideline
CERAMIC_TO_BITE = 6.4  # guideline
CERAMIC_TO_SCORE = 3.0  # guideline: 3.0 to 5.0 for tall and ceramic parts
THINNEST_SCORED = 0.8  # guideline
LARGEST = (406.0, 559.0)  # usable part of a fabrication panel, guideline
