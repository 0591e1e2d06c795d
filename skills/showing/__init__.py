"""What the pages of numbers show, one module a panel: rows read, figures worked out, told in words with their sources.

Each module makes one frozen value for one template, `templates/skills/<noun>/_panel.html`, so that every page that
needs the panel (step, sign-off, athlete, print) shows the same figures in the same words.
"""
