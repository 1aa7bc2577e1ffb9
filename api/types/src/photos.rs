//! Photos of the labels of drawers: which pictures are taken, how they are told apart, and how many.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// The largest photo: 2 MiB. A label that can be read takes a tenth of that.
pub const PHOTO_BYTES_MAX: usize = 2 * 1024 * 1024;
/// How many photos a drawer may have.
pub const DRAWER_PHOTOS_MAX: usize = 8;

/// A photo of a drawer's label, without the picture itself.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Photo {
    /// Names the photo.
    pub id: Uuid,
    /// The drawer.
    pub drawer: String,
    /// The site of the drawer.
    pub site: String,
    /// `image/jpeg`, `image/png` or `image/webp`.
    #[schema(example = "image/jpeg")]
    pub media_type: String,
    /// The size of the picture.
    pub bytes: i64,
    /// When it was added.
    pub added_at: DateTime<Utc>,
}

/// The photos of a drawer.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct PhotoPage {
    /// The photos, oldest first.
    pub photos: Vec<Photo>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Names a photo of a drawer.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct PhotoPath {
    /// The code of the drawer.
    pub drawer: String,
    /// The id of the photo.
    pub photo: String,
}

/// Which photos of a drawer.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct ListPhotos {
    /// The site of the drawer; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// Rows on a page, 1 to 500; 100 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(minimum = 1, maximum = 500)]
    pub limit: Option<u64>,
    /// The `next` of the page before; absent for the first page.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<String>,
}

/// The bytes of a picture.
#[derive(Clone, Debug, PartialEq, Eq, ToSchema)]
#[schema(value_type = String, format = Binary)]
pub struct Picture(pub Vec<u8>);

/// A kind of picture that is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PictureKind {
    /// JPEG.
    Jpeg,
    /// PNG.
    Png,
    /// WebP.
    Webp,
}

impl PictureKind {
    /// All kinds.
    pub const ALL: [Self; 3] = [Self::Jpeg, Self::Png, Self::Webp];

    /// Its media type.
    pub const fn media_type(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
            Self::Webp => "image/webp",
        }
    }

    /// The kind of that media type, parameters left out.
    pub fn of_media_type(text: &str) -> Option<Self> {
        let essence = text.split(';').next().unwrap_or_default().trim();
        Self::ALL
            .into_iter()
            .find(|kind| kind.media_type().eq_ignore_ascii_case(essence))
    }

    /// The kind that those bytes begin as: the signatures of PNG (ISO/IEC 15948, 5.2), of JPEG
    /// (ITU-T T.81, B.2: start of image, then a marker) and of WebP (RFC 9649, 2.3 and 2.4).
    pub fn of_bytes(bytes: &[u8]) -> Option<Self> {
        if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
            Some(Self::Png)
        } else if bytes.starts_with(b"\xff\xd8\xff") {
            Some(Self::Jpeg)
        } else if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
            Some(Self::Webp)
        } else {
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_is_told_by_its_first_bytes() {
        for (bytes, kind) in [
            (
                &b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"[..],
                Some(PictureKind::Png),
            ),
            (b"\xff\xd8\xff\xe0\0\x10JFIF", Some(PictureKind::Jpeg)),
            (b"RIFF\x24\0\0\0WEBPVP8 ", Some(PictureKind::Webp)),
            (b"RIFF\x24\0\0\0WAVEfmt ", None),
            (b"RIFF", None),
            (b"<svg onload=\"x\"/>", None),
            (b"GIF89a", None),
            (b"", None),
        ] {
            assert_eq!(PictureKind::of_bytes(bytes), kind, "{bytes:?}");
        }
    }

    #[test]
    fn a_media_type_may_come_with_parameters_and_in_any_case() {
        for (text, kind) in [
            ("image/jpeg", Some(PictureKind::Jpeg)),
            ("Image/PNG; charset=binary", Some(PictureKind::Png)),
            ("image/webp", Some(PictureKind::Webp)),
            ("image/svg+xml", None),
            ("", None),
        ] {
            assert_eq!(PictureKind::of_media_type(text), kind, "{text}");
        }
    }
}
