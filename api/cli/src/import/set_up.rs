//! `import --set-up`: a drawer list in the shop's own words.

use types::{DrawerList, PushDrawerList};

use super::{Import, UNTOLD, judged, refused};
use crate::failure::{Failure, exit};
use crate::shop::Shop;

pub(super) async fn run(
    import: Import,
    bytes: Vec<u8>,
    shop: &mut Shop<'_, '_>,
) -> Result<u8, Failure> {
    let name = import.file.file_name();
    let how = PushDrawerList {
        only_try: import.only_try,
        family: import.family.clone(),
        site: shop.site.clone(),
        by: import.by.clone(),
        name: name.map(|name| name.to_string_lossy().into_owned()),
    };
    shop.send_waiting().await?;
    let told = shop.client.push_drawer_list((bytes, UNTOLD), &how).await;
    let told = told.map_err(|it| refused(it.into(), &import.file))?;
    Ok(show(&told, shop))
}

fn show(told: &DrawerList, shop: &mut Shop<'_, '_>) -> u8 {
    shop.output.say(&told.says);
    let sheet = judged::sheet(&told.columns, &told.rows);
    shop.output.show_data(told, &sheet);
    if let Some(noted) = judged::noted(&told.columns, &told.rows) {
        shop.output.gap();
        shop.output.show_table(&noted);
    }
    if told.rows.iter().any(judged::needs_a_person) {
        exit::REFUSED
    } else {
        exit::DONE
    }
}
