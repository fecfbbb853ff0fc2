//! What next: value of a question, stages, scope of work.
