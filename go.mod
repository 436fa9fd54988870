module evenhand

go 1.26.8
