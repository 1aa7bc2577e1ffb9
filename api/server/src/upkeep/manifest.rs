//! The manifest of an export: which files belong to it, what is in them, and their hashes.

use std::io::{self, Read, Write};
use std::path::Path;

use data_encoding::HEXLOWER;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::fields;
use crate::cli::Failure;
use crate::store::tables::Table;

/// The name of the file.
pub const FILE: &str = "manifest.json";
/// The version of the format, raised when a reader of the old one would go wrong.
pub const FORMAT: u32 = 1;

/// What an export holds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Manifest {
    /// The version of the format.
    pub format: u32,
    /// The program that wrote it, with its version.
    pub made_by: String,
    /// When (RFC 3339).
    pub made_at: String,
    /// The last step of the schema of the database.
    pub schema: String,
    /// The tables, by name.
    pub tables: Vec<Sheet>,
}

/// What every format of a manifest has.
#[derive(Deserialize)]
struct Format {
    format: u32,
}

/// One table.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sheet {
    /// The name of the table.
    pub name: String,
    /// The file that it is in.
    pub file: String,
    /// How many rows it has, without the line of names.
    pub rows: u64,
    /// The SHA-256 of the file, in hexadecimal.
    pub sha256: String,
    /// The columns of its primary key.
    pub key: Vec<String>,
    /// Its columns, in the order of the file.
    pub columns: Vec<Heading>,
}

/// One column.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Heading {
    /// Its name.
    pub name: String,
    /// `integer`, `real`, `text`, `uuid`, `boolean` or `base64`.
    #[serde(rename = "type")]
    pub kind: String,
    /// Whether it may be empty.
    pub may_be_empty: bool,
}

impl Manifest {
    /// Reads the manifest of a folder.
    ///
    /// # Errors
    /// There is none, or it is of another format.
    pub fn read(folder: &Path) -> Result<Self, Failure> {
        let path = folder.join(FILE);
        let told = path.display();
        let text = std::fs::read_to_string(&path)
            .map_err(|error| format!("{told}: {error}; name a folder that export has written"))?;
        let broken = |error: serde_json::Error| {
            let (line, column) = (error.line(), error.column());
            format!("{told}, line {line}, column {column}: {error}; take the one that export wrote")
        };
        let found: Format = serde_json::from_str(&text).map_err(broken)?;
        if found.format != FORMAT {
            return Err(format!(
                "{told}: format {} is not known here, only {FORMAT}; use the version that wrote it",
                found.format
            ));
        }
        serde_json::from_str(&text).map_err(broken)
    }

    /// Writes the manifest into a folder.
    ///
    /// # Errors
    /// It cannot be written.
    pub fn write(&self, folder: &Path) -> Result<(), Failure> {
        let path = folder.join(FILE);
        let failed = |error| format!("{}: {error}", path.display());
        let mut text = serde_json::to_string_pretty(self).map_err(|error| error.to_string())?;
        text.push('\n');
        let mut file = std::fs::File::create(&path).map_err(failed)?;
        file.write_all(text.as_bytes())
            .and_then(|()| file.sync_all())
            .map_err(failed)
    }
}

impl Sheet {
    /// What a table has in the manifest, before its rows are counted.
    pub fn of(table: &Table) -> Self {
        let columns = table.columns.iter().map(|column| Heading {
            name: column.name.clone(),
            kind: fields::name(column.kind).to_owned(),
            may_be_empty: column.may_be_null,
        });
        Self {
            name: table.name.clone(),
            file: format!("{}.csv", table.name),
            rows: 0,
            sha256: String::new(),
            key: table.key.clone(),
            columns: columns.collect(),
        }
    }
}

/// A stream whose bytes are hashed as they pass.
#[derive(Clone, Debug)]
pub struct Hashed<S> {
    stream: S,
    hash: Sha256,
}

impl<S> Hashed<S> {
    /// A stream from here on.
    pub fn new(stream: S) -> Self {
        Self {
            stream,
            hash: Sha256::new(),
        }
    }

    /// The stream, and the SHA-256 of what has passed.
    pub fn finish(self) -> (S, String) {
        (self.stream, HEXLOWER.encode(&self.hash.finalize()))
    }
}

impl<S: Write> Write for Hashed<S> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.stream.write(bytes)?;
        self.hash.update(&bytes[..written]);
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.stream.flush()
    }
}

impl<S: Read> Read for Hashed<S> {
    fn read(&mut self, bytes: &mut [u8]) -> io::Result<usize> {
        let read = self.stream.read(bytes)?;
        self.hash.update(&bytes[..read]);
        Ok(read)
    }
}
