"""Panels: several boards made as one, to be parted after assembly."""

from modboard.fab.panel.panel import PanelPlan, area, panel
from modboard.fab.panel.told import panel_findings

__all__ = ["PanelPlan", "area", "panel", "panel_findings"]
