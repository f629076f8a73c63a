"""One noun a file: its serializers, its filters and its view together."""
