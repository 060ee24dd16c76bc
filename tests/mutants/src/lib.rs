//! What both tools know of the sources: where a place lies in the text, and what is left out.

use std::path::{Path, PathBuf};

/// A source and where its lines begin.
pub struct Text<'a> {
    pub text: &'a str,
    starts: Vec<usize>,
}

impl<'a> Text<'a> {
    pub fn of(text: &'a str) -> Self {
        Self { text, starts: std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect() }
    }

    /// The byte at which a place lies.
    pub fn at(&self, place: proc_macro2::LineColumn) -> usize {
        let line = self.starts[place.line - 1];
        let rest = &self.text[line..];
        line + rest.char_indices().nth(place.column).map_or(rest.len(), |(at, _)| at)
    }

    pub fn range(&self, span: proc_macro2::Span) -> (usize, usize) {
        (self.at(span.start()), self.at(span.end()))
    }
}

pub fn is_test(attrs: &[syn::Attribute]) -> bool {
    attrs.iter().any(|a| {
        let text = format!("{:?}", a.meta);
        a.path().is_ident("test")
            || text.contains("\"test\"")
            || text.contains("Ident { ident: \"test\"")
            || text.contains("Ident(test)")
    })
}

/// The sources of the library but `cli`, `web` and `guide`, each with its folder.
pub fn sources(root: &Path) -> Vec<(String, PathBuf)> {
    let mut list = Vec::new();
    for entry in walkdir::WalkDir::new(root).sort_by_file_name().into_iter().flatten() {
        let path = entry.path();
        let inside = path.strip_prefix(root).expect("below the sources");
        let layer = inside.components().next().map_or(String::new(), |c| c.as_os_str().to_string_lossy().into_owned());
        let is_source = path.extension().is_some_and(|e| e == "rs") && inside.components().count() > 1;
        if is_source && !["cli", "web", "guide"].contains(&layer.as_str()) {
            list.push((layer, path.to_owned()));
        }
    }
    list
}

/// Declares the module of the tool in a copy of the library.
pub fn declare(root: &Path, module: &str, text: &str) {
    std::fs::write(root.join(format!("{module}.rs")), text).expect("a source");
    let lib = root.join("lib.rs");
    let text = std::fs::read_to_string(&lib).expect("a source");
    let text = text.replace("pub mod app;", &format!("mod {module};\npub mod app;"));
    let text = text.replace("#![forbid(unsafe_code)]", "#![forbid(unsafe_code)]\n#![allow(warnings)]");
    std::fs::write(&lib, text).expect("a source");
}

/// The methods of a visitor that leave out tests, what is known when it is compiled, types, patterns and macros.
#[macro_export]
macro_rules! leave_out {
    ($ast:lifetime) => {
        fn visit_item_mod(&mut self, item: &$ast syn::ItemMod) {
            if !($crate::is_test(&item.attrs) || item.ident == "tests") {
                syn::visit::visit_item_mod(self, item);
            }
        }
        fn visit_item_fn(&mut self, item: &$ast syn::ItemFn) {
            if item.sig.constness.is_none() && !$crate::is_test(&item.attrs) {
                syn::visit::visit_item_fn(self, item);
            }
        }
        fn visit_impl_item_fn(&mut self, item: &$ast syn::ImplItemFn) {
            if item.sig.constness.is_none() {
                syn::visit::visit_impl_item_fn(self, item);
            }
        }
        fn visit_item_const(&mut self, _: &$ast syn::ItemConst) {}
        fn visit_impl_item_const(&mut self, _: &$ast syn::ImplItemConst) {}
        fn visit_item_static(&mut self, _: &$ast syn::ItemStatic) {}
        fn visit_expr_const(&mut self, _: &$ast syn::ExprConst) {}
        fn visit_type(&mut self, _: &$ast syn::Type) {}
        fn visit_pat(&mut self, _: &$ast syn::Pat) {}
        fn visit_macro(&mut self, _: &$ast syn::Macro) {}
    };
}
