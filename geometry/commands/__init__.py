"""The commands, in the order that help lists them. A command module has ``add_to(subparsers)``, which sets ``run``."""

from geometry.commands import check, draw, export, generate, mistakes, options, unfold, variants

COMMANDS = (unfold, check, options, generate, variants, draw, mistakes, export)
