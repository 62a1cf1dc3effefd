module beatwright

go 1.26
