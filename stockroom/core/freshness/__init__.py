"""How fresh a roll is: the life its label gave, the life it used, the day it runs out."""
