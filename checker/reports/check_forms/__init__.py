"""The forms of `check --write`, one module each; the module's name is the form's."""
