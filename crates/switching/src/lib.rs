//! Search engine: moving cars on a small track graph. Knows nothing of railroads' files.
