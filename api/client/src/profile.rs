//! Where a person's server and key are kept: one small TOML file that its owner alone may read. The
//! service writes it at its first start, so that the command line works at once; both use this.

use std::path::{Path, PathBuf};
use std::{env, fmt, fs, io};

use serde::{Deserialize, Serialize};

use crate::private;

/// Names another profile file than the usual one.
pub const PROFILE_VARIABLE: &str = "TIGSTOCK_PROFILE";

/// Which service to call, and with which key.
#[derive(Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Profile {
    /// The address of the service, such as `http://127.0.0.1:8710`.
    pub server: String,
    /// The secret of a key.
    pub key: String,
}

impl fmt::Debug for Profile {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        // The secret stays out of every log.
        formatter
            .debug_struct("Profile")
            .field("server", &self.server)
            .finish_non_exhaustive()
    }
}

/// Why a profile could not be read or written.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The file or its folder could not be read or written.
    #[error("{} cannot be read or written", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// The file is not a profile.
    #[error("{} is not a profile ({why}); it holds the two lines server = \"...\" and key = \"...\"", path.display())]
    Syntax {
        /// The file.
        path: PathBuf,
        /// What is wrong with it; the file itself is not quoted, since it holds a key.
        why: String,
    },
    /// Others than its owner may read the file.
    #[error("others can read the key in {0}; run: chmod 600 {0}", path.display())]
    Exposed {
        /// The file.
        path: PathBuf,
    },
}

impl Profile {
    /// Where the profile is: the file that `TIGSTOCK_PROFILE` names, else `tigstock/client.toml` in
    /// the user's configuration folder; `None` if the system has no such folder.
    pub fn path() -> Option<PathBuf> {
        match env::var_os(PROFILE_VARIABLE).filter(|path| !path.is_empty()) {
            Some(path) => Some(PathBuf::from(path)),
            None => Some(dirs::config_dir()?.join("tigstock").join("client.toml")),
        }
    }

    /// The profile kept in the file at `path`; `None` if there is none.
    ///
    /// # Errors
    /// [`Error::Exposed`] if others may read the file: the key in it is no secret any more.
    pub fn load(path: &Path) -> Result<Option<Self>, Error> {
        let file = |source| Error::File {
            path: path.to_owned(),
            source,
        };
        let text = match fs::read_to_string(path) {
            Ok(text) => text,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(file(error)),
        };
        if is_exposed(path).map_err(file)? {
            return Err(Error::Exposed {
                path: path.to_owned(),
            });
        }
        toml::from_str(&text)
            .map(Some)
            .map_err(|error| Error::Syntax {
                path: path.to_owned(),
                why: error.message().to_owned(),
            })
    }

    /// Keeps the profile in the file at `path`, in place of what was there. A reader sees the old
    /// one or the new one, and never a part.
    pub fn save(&self, path: &Path) -> Result<(), Error> {
        let text = format!(
            "# Where tigstock finds its service, and the key it shows. Keep it to yourself.\n\
             server = {}\nkey = {}\n",
            toml::Value::from(&*self.server),
            toml::Value::from(&*self.key)
        );
        private::replace(path, text.as_bytes()).map_err(|source| Error::File {
            path: path.to_owned(),
            source,
        })
    }
}

#[cfg(unix)]
fn is_exposed(path: &Path) -> io::Result<bool> {
    use std::os::unix::fs::PermissionsExt;
    Ok(fs::metadata(path)?.permissions().mode() & 0o077 != 0)
}

// Other systems keep a user's folders to the user without a mode.
#[cfg(not(unix))]
#[expect(
    clippy::unnecessary_wraps,
    reason = "the same shape as where there is a mode to read"
)]
fn is_exposed(_path: &Path) -> io::Result<bool> {
    Ok(false)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn profile() -> Profile {
        Profile {
            server: "http://127.0.0.1:8710".to_owned(),
            key: "tig_\"hush\"".to_owned(),
        }
    }

    #[test]
    fn a_profile_comes_back_as_it_was_saved() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("tigstock").join("client.toml");
        assert_eq!(Profile::load(&path).expect("there is none"), None);
        profile().save(&path).expect("it can be written");
        let other = Profile {
            key: "tig_other".to_owned(),
            ..profile()
        };
        other.save(&path).expect("it can be replaced");
        assert_eq!(Profile::load(&path).expect("it can be read"), Some(other));
        let left = fs::read_dir(path.parent().expect("it has one"))
            .expect("it can be read")
            .count();
        assert_eq!(left, 1, "nothing but the profile is left in the folder");
    }

    #[cfg(unix)]
    #[test]
    fn a_profile_and_its_folder_are_for_the_owner_alone() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("tigstock").join("client.toml");
        profile().save(&path).expect("it can be written");
        let mode = |path: &Path| {
            fs::metadata(path)
                .expect("it is there")
                .permissions()
                .mode()
                & 0o777
        };
        assert_eq!(mode(&path), 0o600);
        assert_eq!(mode(path.parent().expect("it has one")), 0o700);
    }

    #[cfg(unix)]
    #[test]
    fn a_profile_that_others_can_read_is_refused_with_what_to_do() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("client.toml");
        profile().save(&path).expect("it can be written");
        fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).expect("it is ours");
        let error = Profile::load(&path).expect_err("a group can read it");
        assert!(error.to_string().contains("chmod 600"), "{error}");
    }

    #[test]
    fn a_file_that_is_no_profile_is_refused_without_showing_the_secret() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("client.toml");
        private::replace(&path, b"server = 1\nkey = \"hush\n").expect("it can be written");
        let error = Profile::load(&path).expect_err("a quote is missing");
        assert!(matches!(error, Error::Syntax { .. }));
        assert!(!format!("{error} {error:?}").contains("hush"), "{error:?}");
    }

    #[test]
    fn a_debug_print_does_not_show_the_secret() {
        assert!(!format!("{:?}", profile()).contains("hush"));
    }
}
