"""Typed text of the workbench and what it means. Forms explain; they never save."""
