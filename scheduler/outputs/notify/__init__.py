"""Messages to a person: their words, their moment, and the channels they go through."""
