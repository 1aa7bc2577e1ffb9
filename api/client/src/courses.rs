//! Operations on courses.

use reqwest::Method;
use types::page::Page;
use types::{
    Course, CourseNeeds, CoursePage, CourseStations, DraftOrders, DraftedOrders, GetNeeds,
    NewCourse,
};

use crate::request::text;
use crate::{Client, Error};

impl Client {
    /// A page of the courses.
    pub async fn list_courses(&self, page: &Page) -> Result<CoursePage, Error> {
        self.get_with(&["v1", "courses"], page).await
    }

    /// Sets up a course.
    pub async fn create_course(&self, course: &NewCourse) -> Result<Course, Error> {
        self.create(&["v1", "courses"], course).await
    }

    /// One course.
    pub async fn get_course(&self, course: &str) -> Result<Course, Error> {
        self.get(&["v1", "courses", course]).await
    }

    /// Replaces the course that had this version.
    pub async fn replace_course(
        &self,
        course: &str,
        new: &NewCourse,
        version: i64,
    ) -> Result<Course, Error> {
        self.replace(&["v1", "courses", course], new, version).await
    }

    /// Deletes the course that had this version.
    pub async fn delete_course(&self, course: &str, version: i64) -> Result<(), Error> {
        self.delete(&["v1", "courses", course], version).await
    }

    /// What a course needs.
    pub async fn get_course_needs(
        &self,
        course: &str,
        query: &GetNeeds,
    ) -> Result<CourseNeeds, Error> {
        self.get_with(&["v1", "courses", course, "needs"], query)
            .await
    }

    /// Drafts the orders that a course needs, one a supplier.
    pub async fn draft_course_orders(
        &self,
        course: &str,
        query: &DraftOrders,
        idempotency_key: &str,
    ) -> Result<DraftedOrders, Error> {
        let place = ["v1", "courses", course, "orders"];
        self.draft_orders(&place, query, idempotency_key).await
    }

    /// The cards of the stations of a course.
    pub async fn get_course_stations(&self, course: &str) -> Result<CourseStations, Error> {
        self.get(&["v1", "courses", course, "stations"]).await
    }

    /// The same as a page to print, in HTML.
    pub async fn get_course_station_cards(&self, course: &str) -> Result<String, Error> {
        text(self.request(Method::GET, &["v1", "courses", course, "stations.html"])?).await
    }
}
