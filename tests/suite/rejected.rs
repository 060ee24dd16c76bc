//! Files that must be refused. Each holds, above a line `#---`, the pieces its message must have.

use std::fs;

use brinecast::app::load_text;

#[test]
fn every_rejected_file_is_answered_with_its_message() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/rejected");
    let mut seen = 0;
    let mut wrong = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let text = fs::read_to_string(&path).unwrap();
        let (head, body) = text.split_once("#---\n").expect("a line #--- ends the expected pieces");
        let name = path.file_name().unwrap().to_str().unwrap();
        match load_text(name, body, &[]) {
            Ok(_) => wrong.push(format!("{name}: accepted")),
            Err(error) => {
                let message = error.to_string();
                if !message.starts_with("error: ") {
                    wrong.push(format!("{name}: does not start with `error: `\n{message}"));
                }
                if !message.contains(&format!("{name}:")) {
                    wrong.push(format!("{name}: does not name the file and line\n{message}"));
                }
                if !message.contains("= help: ") {
                    wrong.push(format!("{name}: does not say what to do\n{message}"));
                }
                for piece in head.lines().filter_map(|l| l.strip_prefix("#> ")) {
                    if !message.contains(piece) {
                        wrong.push(format!("{name}: `{piece}` is missing in\n{message}"));
                    }
                }
            }
        }
        seen += 1;
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
    assert!(seen >= 170, "only {seen} files");
}
