"""What is on the road: trailer, tow vehicle, articles, tiedowns, answers; built from documents."""
