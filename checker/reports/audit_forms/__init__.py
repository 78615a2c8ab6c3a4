"""The forms of `audit --write`, one module each; the module's name is the form's."""
