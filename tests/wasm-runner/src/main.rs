//! Runs wasm tests in a headless browser: wasm-bindgen's own runner, without a global installation.
//!
//! `.cargo/config.toml` names the built program; `cargo xtask test` builds it first.

fn main() -> anyhow::Result<()> {
    wasm_bindgen_cli::wasm_bindgen_test_runner::run_cli_with_args(std::env::args_os())
}
