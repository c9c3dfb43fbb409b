"""Facts of file formats that reader and writer share."""
