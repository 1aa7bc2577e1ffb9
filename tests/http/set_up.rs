//! The first set-up from a drawer list in a shop's own words. The list is invented, as it might hang on a wall.

use tigstock_tests::TestServer;
use types::{DrawerList, JudgedRow, ListDrawers, Page, PushDrawerList, Role, SheetForm};

const NOW: &str = "2026-06-15T18:30:00-03:00";

const DRAWERS: &str = "\
Kettlewrack drawers,,,,
No.,What,How many,min,shelf
1,3/32 blue lanthanated 7in,9,4,top
2,collet 2.4,3,2,top
3,#7 cup gas lens,10 pcs,3,top
3,#8 cup gas lens,4,3,top
4,large cap o ring,2,2,low
5,Mar-32 collet body,4,1,low
6,EWLa-2 3/32 x 7in,6,4,top
7,long back cap,-1,1,low
8,gloves,2,,low
9,1/16 x 36 ER70S-2,2 kg,,low
";

async fn shop() -> TestServer {
    TestServer::at(NOW).await
}

fn tried() -> PushDrawerList {
    PushDrawerList {
        only_try: true,
        ..applied()
    }
}

fn applied() -> PushDrawerList {
    PushDrawerList {
        family: Some("large".to_owned()),
        by: Some("owner".to_owned()),
        ..PushDrawerList::default()
    }
}

async fn push(server: &TestServer, text: &str, how: &PushDrawerList) -> DrawerList {
    let file = (text.as_bytes().to_vec(), "text/csv");
    let told = server.owner.push_drawer_list(file, how).await;
    told.expect("it is judged")
}

/// The cell of a row under a column.
fn cell<'l>(list: &'l DrawerList, row: &'l JudgedRow, column: &str) -> &'l str {
    let place = list.columns.iter().position(|name| name == column);
    &row.cells[place.unwrap_or_else(|| panic!("no column {column}: {:?}", list.columns))]
}

async fn parts(server: &TestServer) -> Vec<String> {
    let page = server.owner.list_parts(&Page::default()).await;
    let parts = page.expect("a page").parts;
    parts.into_iter().map(|part| part.code).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_certain_goes_in_the_rest_is_asked_and_a_repeat_is_harmless() {
    let server = shop().await;
    let before = parts(&server).await;
    let told = push(&server, DRAWERS, &tried()).await;
    let sum = "10 rows: 6 in, 0 already in, 4 need you. Only tried: nothing has changed.";
    assert!(told.says.starts_with(sum), "{}", told.says);
    assert!(
        told.says.contains("Not looked at: min, shelf."),
        "{}",
        told.says
    );
    assert_eq!(parts(&server).await, before, "nothing has changed");

    let told = push(&server, DRAWERS, &applied()).await;
    let sum = "10 rows: 6 in, 0 already in, 4 need you.";
    assert!(told.says.starts_with(sum), "{}", told.says);
    let results: Vec<(&str, &str)> = told
        .rows
        .iter()
        .map(|row| (&*row.result, cell(&told, row, "code")))
        .collect();
    assert_eq!(
        results,
        [
            ("refused", ""),
            ("in", "collet-2.4"),
            ("in", "cup-7-gas-lens"),
            ("in", "cup-8-gas-lens"),
            ("in", "o-ring"),
            ("refused", ""),
            ("in", "WLa20-2.4-177.8"),
            ("refused", ""),
            ("refused", ""),
            ("in", "ER70S-2-1.6"),
        ]
    );
    for (code, on_hand) in [
        ("collet-2.4", 3),
        ("cup-7-gas-lens", 10),
        ("cup-8-gas-lens", 4),
        ("o-ring", 2),
        ("WLa20-2.4-177.8", 6),
        ("ER70S-2-1.6", 2_000),
    ] {
        assert_eq!(server.on_hand(code).await, on_hand, "{code}");
    }
    what_is_set_up(&server).await;

    server.set_clock("2026-06-20T09:00:00-03:00");
    let again = push(&server, DRAWERS, &applied()).await;
    let sum = "10 rows: 0 in, 6 already in, 4 need you.";
    assert!(again.says.starts_with(sum), "{}", again.says);
    assert_eq!(server.on_hand("cup-7-gas-lens").await, 10);
}

/// The electrode as its label tells it, and what lies in which drawer.
async fn what_is_set_up(server: &TestServer) {
    let electrode = server
        .owner
        .get_part("WLa20-2.4-177.8")
        .await
        .expect("a part");
    assert_eq!(electrode.class.as_deref(), Some("WLa20"));
    assert_eq!(electrode.marking.as_deref(), Some("3/32 EWLa-2"));
    assert_eq!(
        electrode.note.as_deref(),
        Some("On the drawer: EWLa-2 3/32 x 7in")
    );
    let page = server.owner.list_drawers(&ListDrawers::default()).await;
    let drawers = page.expect("a page").drawers;
    let drawers: Vec<(&str, String)> = drawers
        .iter()
        .map(|it| (&*it.code, it.parts.join("+")))
        .collect();
    assert_eq!(
        drawers
            .iter()
            .map(|(code, parts)| (*code, &**parts))
            .collect::<Vec<_>>(),
        [
            ("2", "collet-2.4"),
            ("3", "cup-7-gas-lens+cup-8-gas-lens"),
            ("4", "o-ring"),
            ("6", "WLa20-2.4-177.8"),
            ("9", "ER70S-2-1.6"),
        ]
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn each_question_says_what_to_answer() {
    let server = shop().await;
    let told = push(&server, DRAWERS, &tried()).await;
    for (place, words) in [
        (
            0,
            "class: which class is printed on the packet? lanthanated may be WLa10, WLa15, WLa20; a colour is no identity",
        ),
        (5, "diameter: "),
        (5, "the fraction 3/32 turned into a date by the spreadsheet"),
        (8, "kind: what is it? Write one of electrode, collet,"),
    ] {
        let row = &told.rows[place];
        assert!(cell(&told, row, "question").contains(words), "{row:?}");
        assert!(row.what_to_do.contains(words), "{row:?}");
    }
    let row = &told.rows[7];
    assert!(
        row.what_to_do.contains("A count cannot be negative."),
        "{row:?}"
    );
    // What is understood is filled in, what is asked is not.
    let row = &told.rows[0];
    let filled = ["kind", "class", "diameter", "length"].map(|it| cell(&told, row, it));
    assert_eq!(filled, ["electrode", "", "2.4 mm", "177.8 mm"]);
    assert_eq!(told.rows[0].line, 3, "a title stands above");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_list_that_came_back_and_is_answered_goes_in_in_every_form() {
    for form in SheetForm::ALL {
        let server = shop().await;
        let file = (DRAWERS.as_bytes().to_vec(), "text/csv");
        let mut list = server
            .owner
            .push_drawer_list(file, &applied())
            .await
            .expect("it is judged");
        for (place, column, answer) in [
            (0, "class", "WLa15"),
            (5, "diameter", "3/32 in"),
            (7, "How many", "1"),
        ] {
            let column = list
                .columns
                .iter()
                .position(|name| name == column)
                .expect("a column");
            list.rows[place].cells[column] = answer.to_owned();
        }
        let bytes = written(&list, form);
        let how = applied();
        let told = server
            .owner
            .push_drawer_list((bytes, form.media_type()), &how)
            .await;
        let told = told.expect("it is judged");
        let sum = "10 rows: 3 in, 6 already in, 1 need you.";
        assert!(told.says.starts_with(sum), "{form:?}: {}", told.says);
        assert_eq!(server.on_hand("WLa15-2.4-177.8").await, 9);
        assert_eq!(server.on_hand("collet-body-2.4").await, 4);
        assert_eq!(server.on_hand("back-cap-long").await, 1);
    }
}

/// As whoever fills in the list would save it.
fn written(list: &DrawerList, form: SheetForm) -> Vec<u8> {
    server::sheets::returned::write(list, form).expect("it is written")
}

#[tokio::test(flavor = "multi_thread")]
async fn a_list_comes_back_in_the_form_in_which_it_was_sent() {
    let server = shop().await;
    let file = (DRAWERS.as_bytes().to_vec(), "text/csv");
    let back = server.owner.push_drawer_list_for_file(file, &tried()).await;
    let back = String::from_utf8(back.expect("a file")).expect("text");
    let mut lines = back.lines();
    let says = lines.next().expect("the sum");
    assert!(says.contains("10 rows: 6 in"), "{says}");
    let columns = lines.next().expect("the names");
    let expected = "No.,What,How many,min,shelf,code,kind,class,diameter,length,family,arrangement,cup_number,seat,\
                    composition,question,result,what to do";
    assert_eq!(columns, expected);
}

#[tokio::test(flavor = "multi_thread")]
async fn columns_without_known_names_are_told_by_what_stands_in_them() {
    let server = shop().await;
    let text = "Lade;Inhalt;Stand\n1;#7 cup gas lens;5\n2;collet 2.4;3\n";
    let told = push(&server, text, &tried()).await;
    assert!(told.says.contains("what it is: Inhalt."), "{}", told.says);
    assert!(told.says.starts_with("2 rows: 2 in"), "{}", told.says);
    // Of two columns of numbers none is guessed to be the count.
    assert!(
        told.says.contains("Not looked at: Lade, Stand."),
        "{}",
        told.says
    );
    let text = "place,there,what\n1,5,#7 cup gas lens\n";
    let told = push(&server, text, &tried()).await;
    let words = "Columns: what it is: what; drawer: place; how many: there.";
    assert!(told.says.ends_with(words), "{}", told.says);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_number_that_changed_and_a_code_that_is_taken_need_a_person() {
    let server = shop().await;
    let list = |count: u32| format!("drawer,what,qty\n2,collet 2.4,{count}\n");
    push(&server, &list(3), &applied()).await;
    let told = push(&server, &list(5), &applied()).await;
    assert_eq!(told.rows[0].result, "refused");
    let words = "collet-2.4 was counted before (3), which stands";
    assert!(told.rows[0].what_to_do.contains(words), "{told:?}");
    assert_eq!(server.on_hand("collet-2.4").await, 3);
    let text = "drawer,what,qty,code\n4,collet 3.2,2,collet-2.4\n";
    let told = push(&server, text, &applied()).await;
    let words = "code: collet-2.4 is set up as Collet 2.4 mm, large body; write another code";
    assert!(told.rows[0].what_to_do.contains(words), "{told:?}");
    assert!(!parts(&server).await.iter().any(|code| code == "collet-3.2"));
}

#[tokio::test(flavor = "multi_thread")]
async fn what_cannot_be_taken_as_a_whole_is_refused_with_the_remedy() {
    let server = shop().await;
    for (text, how, words) in [
        (
            "1,2,3\n4,5,6\n",
            tried(),
            "write above the rows: drawer, what, how many",
        ),
        ("shelf,place,qty\na,b,c\n", tried(), "call it what"),
        (
            DRAWERS,
            PushDrawerList {
                family: Some("huge".to_owned()),
                ..tried()
            },
            "huge is not a body family; known are small, large",
        ),
    ] {
        let file = (text.as_bytes().to_vec(), "text/csv");
        let refused = server.owner.push_drawer_list(file, &how).await;
        let client::Error::Problem(problem) = refused.expect_err("it is refused") else {
            panic!("not a problem");
        };
        assert_eq!(problem.status, 422);
        assert!(format!("{problem:?}").contains(words), "{problem:?}");
    }
    let bench = server.client(Role::Log);
    let file = (DRAWERS.as_bytes().to_vec(), "text/csv");
    assert!(
        bench.push_drawer_list(file, &tried()).await.is_err(),
        "it needs the role keep"
    );
}
