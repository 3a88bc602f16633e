"""The read-only interface for programs: accepted, public records as JSON, CSV and GeoJSON."""
