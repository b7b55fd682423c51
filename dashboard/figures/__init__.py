"""Figures of the dashboard: pure functions from data to plotly figures."""
