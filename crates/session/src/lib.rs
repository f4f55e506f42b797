//! The session as it is worked: commands, what they change, and the journal that loses nothing.
