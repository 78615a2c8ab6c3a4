"""The run of an audit: parts of the log, tasks, processes here or elsewhere, what is done."""
