use commsense::{inference::*, network::*};
use std::time::Instant;
fn main() {
    for p in std::env::args().skip(1) {
        let e: Export = serde_json::from_str(&std::fs::read_to_string(&p).unwrap()).unwrap();
        let net = BeliefNet::from_export(&e).unwrap();
        let o = |id: &str| net.observations.iter().position(|o| o.id == id).unwrap();
        let mut ev = Evidence::none(&net);
        for id in std::env::var("CLOSE").unwrap_or_default().split_whitespace() {
            let f = net.factors.iter().position(|f| f.id == id).unwrap();
            let mut w = vec![0.0; net.factors[f].states.len()];
            w[0] = 1.0;
            ev.factors[f] = Some(w);
        }
        for (id, k) in [
            ("", 0),
            ("power-loss", 2),
            ("clicking", 1),
            ("heavy-sparking", 1),
            ("runs-hot", 1),
            ("battery-flat-early", 1),
            ("vibration", 1),
            ("bench-run", 1),
            ("no-load-current-high", 1),
            ("cuts-in-and-out", 1),
            ("no-load-speed-low", 1),
        ] {
            if !id.is_empty() {
                let n = net.observations[o(id)].states.len();
                let mut w = vec![0.0; n];
                w[k] = 1.0;
                ev.observations[o(id)] = Some(w);
            }
            let t = Instant::now();
            match Engine::compile(&net, &ev, &Limits::default()) {
                Ok(x) => print!("{}({:?}) ", x.operations(), t.elapsed()),
                Err(x) => {
                    print!("{x}");
                    break;
                }
            }
        }
        println!("{p}");
    }
}
