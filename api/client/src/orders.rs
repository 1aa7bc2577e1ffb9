//! Operations on orders.

use reqwest::Method;
use types::page::Page;
use types::{DraftOrders, DraftedOrders, NewArrival, NewOrder, Order, OrderPage, PlaceOrder};

use crate::request::{IDEMPOTENCY_KEY, answer};
use crate::{Client, Error};

impl Client {
    /// A page of the orders.
    pub async fn list_orders(&self, page: &Page) -> Result<OrderPage, Error> {
        self.get_with(&["v1", "orders"], page).await
    }

    /// Drafts an order.
    pub async fn create_order(
        &self,
        order: &NewOrder,
        idempotency_key: &str,
    ) -> Result<Order, Error> {
        self.record(&["v1", "orders"], order, idempotency_key).await
    }

    /// One order.
    pub async fn get_order(&self, order: i64) -> Result<Order, Error> {
        self.get(&["v1", "orders", &order.to_string()]).await
    }

    /// Places a draft: from now on it counts as on order.
    pub async fn place_order(&self, order: i64) -> Result<Order, Error> {
        self.place_order_as(order, &PlaceOrder::default()).await
    }

    /// Places a draft, even below the minimum of its supplier if that is told.
    pub async fn place_order_as(&self, order: i64, how: &PlaceOrder) -> Result<Order, Error> {
        let number = order.to_string();
        let request = self.request(Method::POST, &["v1", "orders", &number, "place"])?;
        answer(request.query(how)).await
    }

    /// Drafts what a piece of work needs.
    pub(crate) async fn draft_orders(
        &self,
        place: &[&str],
        query: &DraftOrders,
        idempotency_key: &str,
    ) -> Result<DraftedOrders, Error> {
        let request = self.request(Method::POST, place)?.query(query);
        answer(request.header(IDEMPOTENCY_KEY, idempotency_key)).await
    }

    /// Cancels what has not arrived of an order.
    pub async fn cancel_order(&self, order: i64) -> Result<Order, Error> {
        answer(self.request(
            Method::POST,
            &["v1", "orders", &order.to_string(), "cancel"],
        )?)
        .await
    }

    /// Records what arrived of an order.
    pub async fn receive_order(
        &self,
        order: i64,
        arrival: &NewArrival,
        idempotency_key: &str,
    ) -> Result<Order, Error> {
        let segments = ["v1", "orders", &order.to_string(), "receive"];
        self.record(&segments, arrival, idempotency_key).await
    }
}
