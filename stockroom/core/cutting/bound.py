"""What no plan can cost less than: the cheapest area that holds all pieces."""

from stockroom.core.cutting.request import Request


def cost_bound(request: Request) -> int:
    """Return a cost that the blanks of no whole plan are under.

    Every piece takes its size and one kerf each way, of a blank that has one kerf more each way;
    area is bought where it is cheapest, in parts. Of blanks of one kind only whole ones are bought.
    Zero where there is not enough area: then there is no whole plan.

    Notes
    -----
    Whole numbers, rounded up at the end.
    """
    kerf = request.saw.kerf_dmm
    need = sum((p.width_dmm + kerf) * (p.height_dmm + kerf) * p.count for p in request.pieces)
    offers = []
    for blank in request.blanks:
        width, height = request.saw.usable(blank)
        if width > 0 and height > 0 and blank.count != 0:
            offers.append(((width + kerf) * (height + kerf), blank.price, blank.count))
    offers.sort(key=lambda offer: offer[1] / offer[0])
    if len(offers) == 1 and offers[0][2] is None:
        area, price, _ = offers[0]
        return -(-need // area) * price
    whole, top, bottom = 0, 0, 1
    for area, price, count in offers:
        held = need if count is None else min(need, area * count)
        if held == need:
            top, bottom = need * price, area
            need = 0
            break
        whole += price * count  # type: ignore[operator]
        need -= held
    return 0 if need else whole - (-top // bottom)
