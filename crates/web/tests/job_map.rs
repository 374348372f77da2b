//! The small map on the page of a job: the right block, in words too, and nothing that wants a signal.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::panic, clippy::unwrap_used)]

mod served;

use farmwork::{demo, planning};
use served::Served;

fn planned() -> Served {
    Served::of(|path| {
        let mut book = demo::create(path, 2027).unwrap();
        planning::make(&mut book).unwrap();
        // The last block loses its outline.
        let last = book.outlines().unwrap().pop().unwrap().block;
        book.remove_outline(last).unwrap();
        book
    })
}

/// The addresses of all jobs with the block each is on.
fn jobs(served: &Served) -> Vec<(String, String)> {
    let log = served.get("/log").text();
    log.split("<a href=\"/log/new?job=")
        .skip(1)
        .map(|rest| {
            let key = rest.split('"').next().unwrap();
            let block = rest.split("<b>").nth(1).unwrap().split("</b>").next();
            (format!("/log/new?job={key}"), block.unwrap().to_owned())
        })
        .collect()
}

#[test]
fn each_job_shows_where_its_block_lies() {
    let served = planned();
    let jobs = jobs(&served);
    assert!(jobs.len() > 10);
    let mut without = 0;
    for (path, block) in &jobs {
        let page = served.get(path).text();
        let Some(map) = page.split("<figure class=\"job-map\">").nth(1) else {
            without += 1;
            continue;
        };
        let map = map.split("</figure>").next().unwrap();
        assert_eq!(map.matches("class=\"here\"").count(), 1, "{path}");
        assert!(map.contains(&format!("Map: {block} is black")), "{map}");
        assert!(map.contains("role=\"img\"") && map.contains("Black: this block."));
        // Nothing is fetched for it, and it is small.
        for asks in ["<img", "<image", "<use", "href=", "http:", "@import"] {
            let rest = map.replace("http://www.w3.org/2000/svg", "");
            assert!(!rest.contains(asks), "{asks}: {map}");
        }
        assert!(map.len() < 12_000, "{path}: {} bytes", map.len());
    }
    assert!(
        without > 0 && without < jobs.len(),
        "{without} of {}",
        jobs.len()
    );
    let no_job = served.get("/log/new").text();
    assert!(!no_job.contains("job-map"), "no job, no map");
}

#[test]
fn the_sheet_of_a_block_has_the_map_too() {
    let served = planned();
    let page = served.get("/jobs/1").text();
    assert_eq!(page.matches("class=\"here\"").count(), 1);
}
