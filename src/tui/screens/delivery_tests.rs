//! The screens of a delivery from a file.

use super::delivery::ArrivingTin;
use super::fixture::g;
use super::states::Shop;
use super::{DeliveryView, View};
use crate::tui::keys::{Action, Context};
use crate::units::{Decimal, Money};

pub(super) fn delivery_views(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let tin = |label, toner, net, lot, expires| ArrivingTin {
        label,
        toner,
        net: g(net),
        lot,
        expires,
        price: None,
        supplier: "",
    };
    let tins = [
        ArrivingTin {
            price: Some(Money::new(Decimal::new(3850, 2))),
            supplier: "Northgate Coatings (invented)",
            ..tin("26-151", "W10 titanium white", "1482", "N7-0226", "2027-11-30")
        },
        tin("26-152", "W10 titanium white", "1482", "N7-0226", "2027-11-30"),
        tin("26-153", "K05 carbon black", "510.5", "", ""),
        tin(
            "a label far too long",
            "P81 a pearl with a name far too long",
            "12500",
            "a lot too long",
            "2028-01-31",
        ),
    ];
    let keys = [
        Action::Accept,
        Action::ReadFile,
        Action::Up,
        Action::Down,
        Action::Back,
        Action::PageUp,
        Action::PageDown,
    ];
    let view = DeliveryView {
        from: "northgate-november.csv",
        tins: &tins,
        wrong: &[],
        scroll: 0,
        chrome: shop.chrome(Context::Delivery, &keys),
    };
    see("delivery", &View::Delivery(view));
    let wrong = [
        "line 4: toner 'W99' is not in the shop's toners: look at its code, or add it to toners.toml"
            .to_owned(),
        "line 6: tin 26-101 was received before: a label is used once, so give this tin another".to_owned(),
    ];
    let chrome = shop.chrome(Context::Delivery, &keys[1..]);
    see("delivery-with-mistakes", &View::Delivery(DeliveryView { wrong: &wrong, chrome, ..view }));
    let one = ["column 'net' is missing: the first row names the columns".to_owned()];
    see("delivery-of-nothing", &View::Delivery(DeliveryView { tins: &[], wrong: &one, chrome, ..view }));
}
