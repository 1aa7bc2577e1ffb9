//! `import --set-up`: a drawer list in the shop's own words, tried and applied.

use tigstock_tests::TestServer;

use crate::computer::Computer;

const NOW: &str = "2026-06-15T18:30:00-03:00";
const LIST: &str = "drawer,what,how many\r\n2,collet 2.4,3\r\n3,3/32 blue lanthanated 7in,9\r\n";

#[tokio::test(flavor = "multi_thread")]
async fn a_drawer_list_is_tried_and_applied_and_asks_what_it_leaves_open() {
    let server = TestServer::at(NOW).await;
    let computer = Computer::of(&server).at(NOW);
    let path = computer.state().with_file_name("drawers.csv");
    std::fs::write(&path, LIST).expect("it is written");
    let path = path.display();
    let told = computer
        .run(&format!("import {path} --set-up --family large --try"))
        .await;
    assert_eq!(told.code, 65, "{told:?}");
    let sum = "2 rows: 1 in, 0 already in, 1 need you. Only tried: nothing has changed. Columns: what it is: what; \
               drawer: drawer; how many: how many.";
    assert_eq!(told.out.lines().next(), Some(sum));
    assert!(told.out.contains("a colour is no identity"), "{told:?}");
    assert!(server.owner.get_part("collet-2.4").await.is_err());
    let line = format!("import {path} --set-up --family large --apply --format csv");
    let told = computer.run(&line).await;
    assert_eq!(told.code, 65, "{told:?}");
    assert!(
        told.out
            .starts_with("drawer,what,how many,code,kind,class,"),
        "{told:?}"
    );
    assert_eq!(server.on_hand("collet-2.4").await, 3);
    let told = computer
        .run(&format!("import {path} --set-up --apply --table counts"))
        .await;
    assert_eq!(told.code, 64, "{told:?}");
}
