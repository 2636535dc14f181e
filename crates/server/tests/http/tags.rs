//! Tags as printed: read by a decoder that is not ours.

use std::process::Command;

use crate::shop::Shop;

/// A page of a PDF in grey: width, height, pixels.
fn raster(bytes: &[u8], page: usize) -> (usize, usize, Vec<u8>) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("tags.pdf");
    std::fs::write(&file, bytes).unwrap();
    let n = page.to_string();
    let out = Command::new("pdftoppm")
        .args(["-r", "200", "-gray", "-f", &n, "-l", &n])
        .arg(&file)
        .output()
        .unwrap();
    let head: Vec<&[u8]> = out.stdout.splitn(4, |b| b.is_ascii_whitespace()).collect();
    let number = |text: &[u8]| std::str::from_utf8(text).unwrap().parse::<usize>().unwrap();
    let (width, height) = (number(head[1]), number(head[2]));
    let rest = &out.stdout[out.stdout.len() - width * height..];
    (width, height, rest.to_vec())
}

/// Every code on a page.
fn codes((width, height, grey): (usize, usize, Vec<u8>)) -> Vec<String> {
    let mut image =
        rqrr::PreparedImage::prepare_from_greyscale(width, height, |x, y| grey[y * width + x]);
    let mut found: Vec<String> = image
        .detect_grids()
        .iter()
        .map(|grid| grid.decode().unwrap().1)
        .collect();
    found.sort();
    found
}

#[tokio::test(flavor = "multi_thread")]
async fn a_code_leads_to_the_pieces_page() {
    let shop = Shop::open().await;
    let tag = shop.block([100.0, 80.0, 40.0]).await;
    let answer = shop.get(&format!("/api/pieces/{tag}/tag.pdf")).await;
    let page = raster(&answer.bytes, 1);
    // 62 mm × 34 mm at 200 dpi.
    assert!(
        (page.0 as f64 - 62.0 / 25.4 * 200.0).abs() < 1.5,
        "{}",
        page.0
    );
    assert!(
        (page.1 as f64 - 34.0 / 25.4 * 200.0).abs() < 1.5,
        "{}",
        page.1
    );
    assert_eq!(codes(page), [format!("http://workshop.example/yard/{tag}")]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_sheet_holds_each_tag_once() {
    let shop = Shop::open().await;
    let mut wanted = Vec::new();
    for k in 0..4 {
        let tag = shop.block([100.0 + f64::from(k), 80.0, 40.0]).await;
        wanted.push(format!("http://workshop.example/yard/{tag}"));
    }
    for (paper, width_mm) in [("a4", 210.0), ("letter", 215.9)] {
        let path = format!("/api/tags.pdf?tags=S-0001,S-0002,S-0003,S-0004&paper={paper}");
        let page = raster(&shop.get(&path).await.bytes, 1);
        assert!(
            (page.0 as f64 - width_mm / 25.4 * 200.0).abs() < 1.5,
            "{}",
            page.0
        );
        assert_eq!(codes(page), wanted);
    }
    assert_eq!(shop.get("/api/tags.pdf?tags=").await.refusal().0, 422);
    assert_eq!(shop.get("/api/tags.pdf?tags=S-0404").await.refusal().0, 404);
    assert_eq!(shop.get("/api/tags.pdf").await.refusal().0, 400);
}
