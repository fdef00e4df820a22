"""LilyPond stylesheets and house styles, as package data."""
