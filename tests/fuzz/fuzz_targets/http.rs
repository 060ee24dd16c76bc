//! Bytes that a connection sends to the page's server, in memory. The server's own sources are taken in as they stand.
#![no_main]
#[expect(dead_code, reason = "only one connection is served here, no address is listened on")]
#[path = "../../../src/web/mod.rs"]
mod web;

use tokio::io::{AsyncReadExt, AsyncWriteExt};

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().start_paused(true).build().expect("a runtime");
    runtime.block_on(async {
        let (mut here, there) = tokio::io::duplex(1 << 22);
        let server = tokio::spawn(web::talk(there, web::router(web::Shared::new(8000, None))));
        // What was refused need not be taken to its end.
        let _ = here.write_all(bytes).await;
        let _ = here.shutdown().await;
        let mut answer = Vec::new();
        let _ = here.read_to_end(&mut answer).await;
        server.await.expect("the server did not panic");
        assert!(answer.is_empty() || answer.starts_with(b"HTTP/1."), "no answer of a server");
    });
});
