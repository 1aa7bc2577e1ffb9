//! What is told arrives: events, their deliveries, webhooks, mail, the stream.

mod count_form;
mod deliveries;
mod digest;
mod low_stock;
mod mail;
mod pages;
mod private_mail;
mod sign_in;
mod stream;
mod webhooks;
