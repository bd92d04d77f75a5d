"""One module for each schema there ever was. One that has shipped is never changed."""
