package claims

// EntryID names an entry: a UUIDv7 made by the device that made the entry, so that sending twice is harmless.
type EntryID string
