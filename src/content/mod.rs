//! RON files: read, check (every fault, with line and column), resolve into the model.
