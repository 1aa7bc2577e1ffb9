//! Two shapes that many bodies share, written once: a resource (what a caller gives, and the same
//! with what the service adds), and an entry of the ledger (its own fields, and the circumstances).
//! Written as macros rather than flattened structs, so that unknown fields are refused and the
//! contract has plain objects.

/// Defines `New…` (what a caller gives) and the view of it (the same fields and more).
macro_rules! resource {
    (
        $(#[$new_meta:meta])* new $New:ident
        $(#[$view_meta:meta])* view $View:ident
        given { $($(#[$given_meta:meta])* $given:ident: $given_type:ty,)* }
        added { $($(#[$added_meta:meta])* $added:ident: $added_type:ty,)* }
    ) => {
        $(#[$new_meta])*
        #[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize, utoipa::ToSchema)]
        #[serde(deny_unknown_fields)]
        pub struct $New { $($(#[$given_meta])* pub $given: $given_type,)* }

        $(#[$view_meta])*
        #[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize, utoipa::ToSchema)]
        pub struct $View {
            $($(#[$given_meta])* pub $given: $given_type,)*
            $($(#[$added_meta])* pub $added: $added_type,)*
        }

        impl $New {
            /// The view of it, with what the service adds.
            pub fn into_view(self, $($added: $added_type,)*) -> $View {
                $View { $($given: self.$given,)* $($added,)* }
            }
        }

        impl $View {
            /// What a caller would give to make it as it is: the start of an edit.
            pub fn into_new(self) -> $New {
                $New { $($given: self.$given,)* }
            }
        }
    };
}
pub(crate) use resource;

/// Defines an entry of the ledger: its own fields, then where, when and by whom.
macro_rules! entry {
    (
        $(#[$meta:meta])* $name:ident
        { $($(#[$field_meta:meta])* $field:ident: $type:ty,)* }
    ) => {
        $(#[$meta])*
        #[derive(
            Clone, Debug, Default, PartialEq, serde::Serialize, serde::Deserialize, utoipa::ToSchema,
        )]
        #[serde(deny_unknown_fields)]
        pub struct $name {
            $($(#[$field_meta])* pub $field: $type,)*
            /// When it happened, with its offset from UTC; what the device's clock said, else the time
            /// of receipt, unless told.
            #[serde(default, skip_serializing_if = "Option::is_none")]
            #[schema(example = "2026-05-11T14:02:10-03:00")]
            pub at: Option<chrono::DateTime<chrono::FixedOffset>>,
            /// What the clock of the device said when it happened.
            #[serde(default, skip_serializing_if = "Option::is_none")]
            pub device_at: Option<chrono::DateTime<chrono::FixedOffset>>,
            /// By how many seconds the clock of the device was found to be ahead of the true time;
            /// below zero if it was behind.
            #[serde(default, skip_serializing_if = "Option::is_none")]
            #[schema(example = 360)]
            pub clock_ahead_seconds: Option<i64>,
            /// The site; that of the torch, else the first site, unless told.
            #[serde(default, skip_serializing_if = "Option::is_none")]
            pub site: Option<String>,
            /// Operator group: `own`, `helper`, `beginner` or `visitor`; `own` unless told.
            #[serde(default, skip_serializing_if = "Option::is_none")]
            #[schema(example = "own")]
            pub group: Option<String>,
            /// The job it was for.
            #[serde(default, skip_serializing_if = "Option::is_none")]
            pub job: Option<String>,
            /// The lot, where it is known.
            #[serde(default, skip_serializing_if = "Option::is_none")]
            pub lot: Option<String>,
            /// Who did it, as the shop calls them.
            #[serde(default, skip_serializing_if = "Option::is_none")]
            #[schema(example = "helper")]
            pub by: Option<String>,
            /// A note.
            #[serde(default, skip_serializing_if = "Option::is_none")]
            pub note: Option<String>,
        }

        impl $name {
            /// Where, when and by whom.
            pub fn circumstances(&self) -> crate::Circumstances<'_> {
                crate::Circumstances {
                    at: self.at.or(self.device_at),
                    device_at: self.device_at,
                    clock_ahead_seconds: self.clock_ahead_seconds,
                    site: self.site.as_deref(),
                    group: self.group.as_deref(),
                    job: self.job.as_deref(),
                    lot: self.lot.as_deref(),
                    by: self.by.as_deref(),
                    note: self.note.as_deref(),
                }
            }
        }
    };
}
pub(crate) use entry;
