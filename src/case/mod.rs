//! The job ticket: answers, readings, safe storage.
