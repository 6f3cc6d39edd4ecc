"""A small stock list with every column."""

STOCK_LIST = (
    "material,family,form,width_mm,length_m,height_mm,thickness_mm,count,batch,made_on,"
    "label_date,place,price,owner,received,note\n"
    "Example pearl paper,paper,roll,1270,about 9 m,,0.26,1,E-0417,2025-01-13,2027-01-31,"
    "cold store,412.50,mine,2025-02-03,opened; length guessed from the roll\n"
    "Example clear acrylic,sheet,sheet,2050,,1525,3,4,unknown,,,sheet rack,96.00,mine,,"
    "masks on both faces\n"
)
