"""The bundled rule files, as package data: `importlib.resources.files("rulesets")` finds them from a wheel, an editable install and a checkout."""
