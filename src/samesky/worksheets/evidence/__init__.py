"""The pages that take in tracks, films and weather reports."""
