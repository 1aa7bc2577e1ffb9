//! The first start: the owner's key is made, shown once, and left where the command line finds it.

use std::net::{Ipv4Addr, SocketAddr};

use client::profile::Profile;

use crate::cli::{Failure, chain, say};
use crate::service::{Context, keys};

/// Makes and shows the owner's key if there is no key at all.
///
/// # Errors
/// The key cannot be made or shown.
pub async fn greet(context: &Context, address: SocketAddr) -> Result<(), Failure> {
    let made = keys::create_first(context)
        .await
        .map_err(|error| chain(&error))?;
    let Some(made) = made else { return Ok(()) };
    // A service that listens everywhere is reached on this machine by loopback.
    let mut address = address;
    if address.ip().is_unspecified() {
        address.set_ip(Ipv4Addr::LOCALHOST.into());
    }
    let server = format!("http://{address}");
    say(&format!(
        "First start. This is the owner's key; it is shown this once only:\n\n    {}\n\n{}\n",
        made.secret,
        left(&Profile {
            server,
            key: made.secret.clone()
        })
    ))
}

/// Leaves server and key for the command line, and says where.
fn left(profile: &Profile) -> String {
    let kept = Profile::path()
        .ok_or_else(|| "this account has no configuration folder".to_owned())
        .and_then(|file| {
            if file.exists() {
                return Err(format!(
                    "{} is there already and was left as it is",
                    file.display()
                ));
            }
            profile.save(&file).map_err(|error| chain(&error))?;
            Ok(file)
        });
    match kept {
        Ok(file) => format!(
            "The command line `tigstock` finds it in {}, which only you can read.",
            file.display()
        ),
        Err(why) => {
            format!("It was not kept for the command line ({why}): give it as TIGSTOCK_KEY.")
        }
    }
}
