"""An invented studio to try everything on; its people, suppliers and lots exist nowhere."""
