//! The feed of warnings, for a feed reader to subscribe to (RFC 4287).

use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

/// The media type of a feed of warnings.
pub const ATOM_MEDIA_TYPE: &str = "application/atom+xml; charset=utf-8";

/// Which feed to read.
#[derive(Clone, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct GetWarningFeed {
    /// The site; all sites unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// A key, for feed readers, which cannot send one in a header. Only a key of the role `read` is taken
    /// here, since addresses are kept in many places.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub key: Option<String>,
}

// Written out, since a debug print must not show a key.
impl std::fmt::Debug for GetWarningFeed {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("GetWarningFeed")
            .field("site", &self.site)
            .finish_non_exhaustive()
    }
}

/// A feed (Atom, RFC 4287): what was told of warnings, an entry each; the id of an entry is that of the
/// event, `urn:uuid:...`, the same as on every other channel.
#[derive(Clone, Debug, PartialEq, Eq, ToSchema)]
#[schema(value_type = String)]
pub struct AtomText(pub String);
