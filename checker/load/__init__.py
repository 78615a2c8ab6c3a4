"""One load as records (trailer, tow vehicle, articles, tiedowns, answers), built from documents."""
