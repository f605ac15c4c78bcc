"""What is due, as a calendar that phones and computers subscribe to."""
