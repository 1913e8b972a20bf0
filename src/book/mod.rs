//! Where every gram went: the journal of events and their postings, on disk.
