//! Which branches the tests go: writes counters into a copy of the sources, and reads what the tests noted.
//!
//! `brinecast-branches COPY [LEFT-OUT...]` rewrites `COPY/src` and lists the branches; with `BRANCHES=FILE` each process of the
//! tests adds the number of a branch to the file when it first goes it. `brinecast-branches LIST FILE` sums up.
//!
//! A branch is a way out of an `if` (with or without `else`, with a pattern or not), an arm of a `match`, or the `else` of a
//! `let`. What is known when it is compiled (`const fn`, constants) is left out, and so are tests, macros and generated code.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use brinecast_mutants::{Text, declare, leave_out, sources};
use syn::spanned::Spanned;
use syn::visit::{self, Visit};

/// A text to put in at a place; a branch has one before and perhaps one behind.
struct Branch {
    line: usize,
    what: &'static str,
    before: (usize, &'static str),
    behind: Option<(usize, &'static str)>,
}

struct Finder<'a> {
    text: Text<'a>,
    branches: Vec<Branch>,
}

impl Finder<'_> {
    fn inside(&mut self, block: &syn::Block, line: usize, what: &'static str) {
        let at = self.text.at(block.brace_token.span.open().end());
        self.branches.push(Branch { line, what, before: (at, "HIT;"), behind: None });
    }

    fn around(&mut self, e: &syn::Expr, what: &'static str) {
        let (from, to) = (self.text.at(e.span().start()), self.text.at(e.span().end()));
        let line = e.span().start().line;
        self.branches.push(Branch { line, what, before: (from, "{HIT; "), behind: Some((to, "}")) });
    }
}

impl<'ast> Visit<'ast> for Finder<'_> {
    leave_out!('ast);

    fn visit_expr_if(&mut self, e: &'ast syn::ExprIf) {
        let line = e.if_token.span().start().line;
        self.inside(&e.then_branch, line, "then");
        match &e.else_branch {
            Some((_, other)) => match &**other {
                syn::Expr::Block(block) => self.inside(&block.block, line, "else"),
                other => self.around(other, "else"),
            },
            None => {
                let end = self.text.at(e.then_branch.span().end());
                self.branches.push(Branch { line, what: "not", before: (end, " else {HIT;}"), behind: None });
            }
        }
        visit::visit_expr_if(self, e);
    }

    fn visit_expr_match(&mut self, e: &'ast syn::ExprMatch) {
        for arm in &e.arms {
            self.around(&arm.body, "arm");
        }
        visit::visit_expr_match(self, e);
    }

    fn visit_local(&mut self, local: &'ast syn::Local) {
        if let Some(init) = &local.init
            && let Some((_, other)) = &init.diverge
            && let syn::Expr::Block(block) = &**other
        {
            self.inside(&block.block, local.span().start().line, "let else");
        }
        visit::visit_local(self, local);
    }
}

fn branches(text: &str) -> Vec<Branch> {
    let file = syn::parse_file(text).expect("sources that compile");
    let mut finder = Finder { text: Text::of(text), branches: Vec::new() };
    finder.visit_file(&file);
    finder.branches
}

const MODULE: &str = r#"//! Which branches are gone.
use std::io::Write;
use std::sync::atomic::{AtomicU8, Ordering};
static GONE: [AtomicU8; COUNT] = [const { AtomicU8::new(0) }; COUNT];
/// Notes a branch, once a process.
#[inline]
pub(crate) fn hit(id: usize) {
    if GONE[id].load(Ordering::Relaxed) == 0 && GONE[id].swap(1, Ordering::Relaxed) == 0 { note(id) }
}
#[cold]
fn note(id: usize) {
    if let Some(path) = std::env::var_os("BRANCHES") {
        if let Ok(mut file) = std::fs::OpenOptions::new().append(true).create(true).open(path) {
            let _ = file.write_all(&(id as u32).to_le_bytes());
        }
    }
}
"#;

/// Sums up what the tests went, by folder and file, and lists what they did not.
fn report(list: &str, seen: &Path) {
    let bytes = fs::read(seen).expect("what the tests noted");
    let gone: BTreeSet<usize> =
        bytes.chunks_exact(4).map(|b| u32::from_le_bytes([b[0], b[1], b[2], b[3]]) as usize).collect();
    let (mut of, mut missed): (BTreeMap<String, (usize, usize)>, Vec<&str>) = (BTreeMap::new(), Vec::new());
    for line in list.lines() {
        let mut cells = line.split('\t');
        let id: usize = cells.next().and_then(|id| id.parse().ok()).expect("a number");
        let file = cells.next().and_then(|place| place.split(':').next()).expect("a place");
        let folder = format!("{}/", file.split('/').next().unwrap_or(""));
        for key in [folder, file.to_owned()] {
            let count = of.entry(key).or_default();
            count.0 += usize::from(gone.contains(&id));
            count.1 += 1;
        }
        if !gone.contains(&id) {
            missed.push(line);
        }
    }
    for (key, (went, all)) in &of {
        println!("{:5.1} %\t{went} of {all}\t{key}", 100.0 * *went as f64 / *all as f64);
    }
    println!("\nnot gone:");
    missed.iter().for_each(|line| println!("{line}"));
}

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    if Path::new(&args[0]).is_file() {
        return report(&fs::read_to_string(&args[0]).expect("a list"), Path::new(&args[1]));
    }
    let root = Path::new(&args[0]).join("src");
    let left_out: BTreeSet<usize> = args[1..].iter().map(|a| a.parse().expect("a number")).collect();
    let mut id = 0;
    for (_, path) in sources(&root) {
        let mut text = fs::read_to_string(&path).expect("a source");
        let mut put: Vec<(usize, usize, String)> = Vec::new();
        for (order, branch) in branches(&text).into_iter().enumerate() {
            if !left_out.contains(&id) {
                println!(
                    "{id}\t{}:{}\t{}",
                    path.strip_prefix(&root).expect("below").display(),
                    branch.line,
                    branch.what
                );
                put.push((
                    branch.before.0,
                    order,
                    branch.before.1.replace("HIT", &format!("crate::branches::hit({id})")),
                ));
                // What closes within what: the inner one first.
                put.extend(branch.behind.map(|(at, text)| (at, usize::MAX - order, text.to_owned())));
            }
            id += 1;
        }
        put.sort();
        for (at, _, piece) in put.into_iter().rev() {
            text.insert_str(at, &piece);
        }
        fs::write(&path, text).expect("a source");
    }
    declare(&root, "branches", &MODULE.replace("COUNT", &id.to_string()));
}
