"""Named facts of a load: the words that rules may speak of, each with meaning, needs and source."""
