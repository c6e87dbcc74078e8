//! scratch
#[test]
fn m() {
    use face::{Size, BitSize, width};
    for (s, n) in [(Size::Xxl,"XXL"),(Size::Badge,"Badge"),(Size::L,"L"),(Size::Question,"Q")] {
        for t in ["64.2°","145°","−9.0°","−18°","61.8°","9m","25m","1h23","88.8°","100°"] { print!("{n} {t} {}  ", width(s,t)); }
        println!();
    }
    println!("Q? {}  S? {}", width(Size::Question,"?"), width(Size::S,"?"));
    for t in ["to 180°","+1.2°/min","+10.2°/min","12 s old","vor 12 s","of 63°","61.8° of 63°","core 65.8°","bis 180°","120 s old","7 to 12 min","64.2°","about","BACK ON HEAT","WEITERGAREN","under 145°","last reading 12 s ago",
      "If taken now: peak 66.1° in 8 min (64.9 to 67.5)","taken now: 66.1° in 8 min (64.9 to 67.5)","Take at about 59.4°, comes to 63° in the rest","TAKE OUT loin: comes to 63° in the rest","Tip may sit too near the surface: push it to the middle",
      "Tip near the surface: push it to the middle","peak so far 65.8°, said 66.1° (64.9 to 67.5)","about 12 min to go (9 to 17 min)","Höchstwert 65.8°, erwartet 66.1° (64.9 bis 67.5)","Jetzt heraus: Höchstwert 66.1° in 8 min (64.9 bis 67.5)","hotter than the food can be: is the tip in it?","Bei etwa 59.4° entnehmen, in der Ruhe bis 63°","ENTNEHMEN: Lende, kommt in der Ruhe auf 63°",
      "61.8°, under 63°: back on the heat","Spitze nah an der Oberfläche: zur Mitte schieben","heißer als das Gargut sein kann: Spitze im Gargut?","steht seit dem Einstechen still"] {
        println!("S {} M {} {t}", width(Size::S,t), width(Size::M,t));
    }
    for t in ["TAKE OUT loin: comes to 63° in the rest","TAKE OUT loin: 63° in the rest","TAKE OUT loin: 63° in rest","TAKE OUT: 63° in the rest","BACK ON HEAT: under 63°","BACK ON HEAT: under 145°","HERAUS: Lende, ruht bis 63°","ENTNEHMEN: Lende, ruht bis 63°","WEITERGAREN: unter 145°"] { println!("M {} {t}", width(Size::M,t)); }
    println!("row {:?} band {:?} {:?}", BitSize::Row.width("64.2°"), BitSize::Band.width("64.2°"), BitSize::Band.width("9m"));
}
