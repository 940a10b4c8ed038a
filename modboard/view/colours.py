"""Colours, line weights and letter heights of every picture.

The palette can be told apart by colour-blind eyes (Okabe & Ito, 2008).  Weights and heights are those of technical
drawing: thick and thin lines 2:1 (ISO 128), letters 2.5 and 3.5 mm with a pen of a tenth of that (ISO 3098).
"""

TOP_COPPER = "#E69F00"
BOTTOM_COPPER = "#56B4E9"
FINDING = "#D55E00"
PAPER = "#FFFFFF"
INK = "#1A1A1A"
SOFT_INK = "#6B6B6B"
LAMINATE = "#D8CFB0"
MASK = "#2B3A4A"  # slate, drawn translucent
MASK_OPACITY = 0.6
LEGEND_ON_BOARD = "#FBF8EF"
HOLE = "#FFFFFF"
HOLE_RIM = "#2B2B2B"
CAVITY_HATCH = "#A89F94"
BODY = "#F1ECE2"
PAD = "#C9C4BA"

THICK, THIN = 0.5, 0.25  # mm on the sheet
LETTERS, TITLE_LETTERS, SMALL_LETTERS = 2.5, 3.5, 1.8  # mm on the sheet
PEN_TO_HEIGHT = 0.1
