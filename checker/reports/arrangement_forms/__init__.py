"""Forms of the report of `arrange` that `--write` takes; each module is one."""
