//! A set of states of equal length, numbered in the order of arrival.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

/// A map for small keys of our own, which need no protection against chosen collisions.
pub(crate) type Quick<K, V> = HashMap<K, V, BuildHasherDefault<Mix>>;

const K: u64 = 0x9E37_79B9_7F4A_7C15;

/// Multiply and rotate.
#[derive(Default)]
pub(crate) struct Mix(u64);

impl Hasher for Mix {
    fn finish(&self) -> u64 {
        (self.0 ^ (self.0 >> 29)).wrapping_mul(K)
    }

    fn write(&mut self, bytes: &[u8]) {
        for b in bytes {
            self.write_u64(u64::from(*b));
        }
    }

    fn write_u8(&mut self, x: u8) {
        self.write_u64(u64::from(x));
    }

    fn write_u16(&mut self, x: u16) {
        self.write_u64(u64::from(x));
    }

    fn write_u32(&mut self, x: u32) {
        self.write_u64(u64::from(x));
    }

    fn write_u64(&mut self, x: u64) {
        self.0 = (self.0.rotate_left(23) ^ x).wrapping_mul(K);
    }
}

/// Open addressing over one long array of bytes: no allocation for each state.
pub(crate) struct Store {
    stride: usize,
    bytes: Vec<u8>,
    table: Vec<u32>,
    mask: usize,
}

const EMPTY: u32 = u32::MAX;

impl Store {
    pub fn new(stride: usize) -> Self {
        Self {
            stride,
            bytes: vec![],
            table: vec![EMPTY; 1024],
            mask: 1023,
        }
    }

    pub fn len(&self) -> usize {
        self.bytes.len() / self.stride
    }

    pub fn get(&self, i: usize) -> &[u8] {
        &self.bytes[i * self.stride..(i + 1) * self.stride]
    }

    fn hash(state: &[u8]) -> usize {
        // Multiply and rotate, eight bytes at a time; good enough for keys we make ourselves.
        let mut h = 0u64;
        let mut chunks = state.chunks_exact(8);
        for c in &mut chunks {
            let w = u64::from_le_bytes([c[0], c[1], c[2], c[3], c[4], c[5], c[6], c[7]]);
            h = (h.rotate_left(23) ^ w).wrapping_mul(K);
        }
        let mut last = [0u8; 8];
        let r = chunks.remainder();
        last[..r.len()].copy_from_slice(r);
        h = (h.rotate_left(23) ^ u64::from_le_bytes(last)).wrapping_mul(K);
        (h ^ (h >> 29)).wrapping_mul(K) as usize >> 7
    }

    pub fn find(&self, state: &[u8]) -> Option<usize> {
        let mut i = Self::hash(state) & self.mask;
        while self.table[i] != EMPTY {
            if self.get(self.table[i] as usize) == state {
                return Some(self.table[i] as usize);
            }
            i = (i + 1) & self.mask;
        }
        None
    }

    /// The number of a state, and whether it is new.
    pub fn add(&mut self, state: &[u8]) -> (usize, bool) {
        debug_assert_eq!(state.len(), self.stride);
        let mut i = Self::hash(state) & self.mask;
        while self.table[i] != EMPTY {
            if self.get(self.table[i] as usize) == state {
                return (self.table[i] as usize, false);
            }
            i = (i + 1) & self.mask;
        }
        let no = self.len();
        self.bytes.extend_from_slice(state);
        self.table[i] = no as u32;
        if (no + 1) * 2 > self.table.len() {
            self.mask = self.table.len() * 2 - 1;
            self.table = vec![EMPTY; self.mask + 1];
            for j in 0..=no {
                let mut i = Self::hash(self.get(j)) & self.mask;
                while self.table[i] != EMPTY {
                    i = (i + 1) & self.mask;
                }
                self.table[i] = j as u32;
            }
        }
        (no, true)
    }
}
