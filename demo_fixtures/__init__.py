"""An invented depot pair: the register workbook they would hand over, and the first days of working with it."""
